-- A loop where the layout is to be given.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  options = {
    { id = "rows", title = "Rows", text = "How many?", choices = { { id = "1", text = "one" }, { id = "2", text = "two" } } },
  },
  layout = function()
    while true do end --<
  end,
  run = function() end,
}
