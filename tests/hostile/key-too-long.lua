-- A key without end.
-- script: key has
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:confirm { key = ("k"):rep(5000), title = "T", text = "T" } --<
  end,
}
