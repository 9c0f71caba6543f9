-- A gauge whose vent would rewrite the screen.
-- bad-text: the gauge's vent is printable text
return procedure {
  id = "hostile", version = "1", api = 1, gauge = { vent = "\27[2J" }, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
