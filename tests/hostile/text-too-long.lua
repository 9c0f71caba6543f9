-- A prompt of more than 2 000 characters.
-- script: text has 2001 characters; at most 2000
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:confirm { key = "k", title = "T", text = ("x"):rep(2001) } --<
  end,
}
