-- Formats with wide fields, again and again.
-- budget: without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    while true do
      string.format("%99.99f", 1e308) --<
    end
  end,
}
