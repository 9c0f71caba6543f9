-- A title without end.
-- script: the procedure needs title
return procedure {
  id = "hostile", version = "1", api = 1, title = ("x"):rep(5000),
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
