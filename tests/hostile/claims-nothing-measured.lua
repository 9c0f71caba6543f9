-- An end that claims what was never measured.
-- end: Nothing can be claimed
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:tell "Even: every bore is within 0.1 %."
  end,
}
