-- Asks that cannot be made, without end.
-- budget: asks for more than 60 prompts
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    while true do
      pcall(function()
        job:number { key = "k", title = "T", text = "T", quantity = "length", unit = "furlong", low = 1, high = 2 } --<
      end)
    end
  end,
}
