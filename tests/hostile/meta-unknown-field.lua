-- A field that nobody knows.
-- script: procedure has no field
return procedure {
  id = "hostile", version = "1", api = 1, on_start = function() end, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
