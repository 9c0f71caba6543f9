-- The table behind all texts.
-- script: string.format cannot be changed
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    string.format = nil --<
  end,
}
