-- An adjuster of a bore that is not there.
-- bad-layout: names bore 7; this layout has the bores 1 2
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 7 } } } },
  run = function(job)
  end,
}
