-- What the routine remembers between steps.
-- script: job.at is the library's own
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job.at.left_out['1'] = true --<
  end,
}
