-- Cautions that are no texts.
-- script: cautions is to be a list of texts
return procedure {
  id = "hostile", version = "1", api = 1, cautions = { { "x" } }, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
