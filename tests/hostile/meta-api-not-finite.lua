-- A level that is no number.
-- script: procedure.api: an infinite number
return procedure {
  id = "hostile", version = "1", api = 1 / 0, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
