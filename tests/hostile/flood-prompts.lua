-- Prompts without end.
-- budget: asks for more than 60 prompts
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    while true do
      job:confirm { key = "k", title = "Again", text = "Go on?" } --<
    end
  end,
}
