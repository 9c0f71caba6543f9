-- A risk below nothing.
-- script: risk is -1; it is to be from 0.001 to 0.5
return procedure {
  id = "hostile", version = "1", api = 1, risk = -1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
