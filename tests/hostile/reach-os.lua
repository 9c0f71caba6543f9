-- The operating system.
-- script: there is no os here; a procedure has no access to the machine
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = os.execute('id') --<
    job:tell(tostring(found))
  end,
}
