-- The verbs of library files.
-- script: there is no core here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = core.request { op = 'end' } --<
    job:tell(tostring(found))
  end,
}
