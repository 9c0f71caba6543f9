-- An adjuster whose title is shown backwards.
-- bad-layout: an adjuster's title "?werc" holds a character
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 }, title = "\u{202E}werc" } } },
  run = function(job)
  end,
}
