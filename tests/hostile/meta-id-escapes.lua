-- An id that would rewrite the screen.
-- script: the procedure's id holds a character that cannot be shown
return procedure {
  id = "\27[2J", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
