-- A level of the library that is still to come.
-- too-new: api
return procedure {
  id = "hostile", version = "1", api = 999, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
