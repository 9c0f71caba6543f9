-- A name without end.
-- script: require:
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = require(('x'):rep(60000)) --<
    job:tell(tostring(found))
  end,
}
