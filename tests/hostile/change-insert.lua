-- A library as if it were a list.
-- script: table.insert: this table cannot be changed
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    table.insert(math, 1) --<
  end,
}
