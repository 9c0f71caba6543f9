-- A title that is shown backwards.
-- script: the procedure's title holds a character that cannot be shown
return procedure {
  id = "hostile", version = "1", api = 1, title = "\u{202E}eltiT",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
