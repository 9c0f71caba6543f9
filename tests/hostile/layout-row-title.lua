-- A row whose title would rewrite the screen.
-- bad-layout: a row's title "?[2J" holds a character
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, row_titles = { "\27[2J" }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
