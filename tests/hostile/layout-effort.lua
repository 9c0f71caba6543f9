-- Work that takes less than no time.
-- script: effort is -1e+308; it is to be from 0 to 1440 minutes
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 }, effort = -1e308 } } },
  run = function(job)
  end,
}
