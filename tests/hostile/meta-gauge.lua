-- A gauge that cannot be.
-- out-of-range: scale goes from 5 to 1
return procedure {
  id = "hostile", version = "1", api = 1, gauge = { low = 5, high = 1, step = 0 }, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
