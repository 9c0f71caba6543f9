-- Writing past a table's guard.
-- script: there is no rawset here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = rawset(math, 'floor', nil) --<
    job:tell(tostring(found))
  end,
}
