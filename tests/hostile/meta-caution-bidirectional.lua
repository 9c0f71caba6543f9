-- A caution that reads otherwise.
-- script: cautions holds the control character U+202E
return procedure {
  id = "hostile", version = "1", api = 1, cautions = { "\u{202E}x" }, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
