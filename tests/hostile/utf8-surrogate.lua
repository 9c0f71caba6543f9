-- Half a character.
-- script: the text is not UTF-8
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:tell("\u{D800}") --<
  end,
}
