-- A version that is a table.
-- script: version is to be a text, and it is a table
return procedure {
  id = "hostile", version = { 1 }, api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
