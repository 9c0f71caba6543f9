-- An error of 60 000 letters.
-- script: xxxxxxxx
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    error(("x"):rep(60000)) --<
  end,
}
