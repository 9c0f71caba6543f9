-- A number that is none.
-- script: not a number (0/0)
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:number { key = "k", title = "T", text = "T", quantity = "length", unit = "mm", low = 0 / 0, high = 2 } --<
  end,
}
