-- An error that would rewrite the screen.
-- script: \u{1B}[2Jdone\u{A}
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    error("\27[2Jdone\n") --<
  end,
}
