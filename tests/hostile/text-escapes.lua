-- Escape sequences that would rewrite the screen.
-- script: U+001B
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:tell "\27[2J\27]0;owned\7" --<
  end,
}
