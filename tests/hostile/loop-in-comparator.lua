-- A comparison that never returns.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    table.sort({ 2, 1 }, function()
      while true do end --<
    end)
  end,
}
