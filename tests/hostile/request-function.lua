-- A function where data are wanted.
-- script: bore_mm is to be a number, and it is a function
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:throttle { bore_mm = function() end } --<
  end,
}
