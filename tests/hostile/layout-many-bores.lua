-- An engine of 10 000 cylinders.
-- bad-layout: there are more than 24 bores
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { (function() local r = {} for i = 1, 3000 do r[i] = i end return r end)() }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
