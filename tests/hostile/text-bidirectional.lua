-- Text that would be shown in another order than it is written.
-- script: U+202E
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:confirm { key = "k", title = "T", text = "Engine \u{202E}gninnur\u{202C}?" } --<
  end,
}
