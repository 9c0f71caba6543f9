-- A bore whose name would rewrite the screen.
-- bad-layout: holds a character that cannot be shown
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, "\27[2J" } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
