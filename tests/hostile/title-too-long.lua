-- A title that would fill the screen.
-- script: title has 121 characters; at most 120
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:confirm { key = "k", title = ("x"):rep(121), text = "T" } --<
  end,
}
