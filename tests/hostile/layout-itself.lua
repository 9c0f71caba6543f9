-- A layout that holds itself.
-- script: row_titles is to be a list of texts
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { row_titles = (function() local t = {} t[1] = t return t end)(), rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
