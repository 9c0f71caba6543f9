-- Messages without end.
-- budget: tells more than 200 things without asking one
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    while true do
      job:tell "More." --<
    end
  end,
}
