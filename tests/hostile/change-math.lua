-- A library function of the language replaced.
-- script: math.floor cannot be changed
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    math.floor = function() return 0 end --<
  end,
}
