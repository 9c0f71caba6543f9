-- An id without end.
-- script: the procedure needs id, a text of at most 120 characters
return procedure {
  id = ("x"):rep(5000), version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
