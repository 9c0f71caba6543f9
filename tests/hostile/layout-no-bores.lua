-- An engine without a cylinder.
-- bad-layout: a layout needs "rows"
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = {}, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
