-- An id that is a path.
-- script: is to be small letters, digits and hyphens
return procedure {
  id = "../../../etc/cron.d/x", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
