-- Code made at run time.
-- script: there is no load here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = load('return os') --<
    job:tell(tostring(found))
  end,
}
