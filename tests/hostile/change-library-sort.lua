-- The same, sorted.
-- script: table.sort: this table cannot be changed
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    table.sort(require 'measure') --<
  end,
}
