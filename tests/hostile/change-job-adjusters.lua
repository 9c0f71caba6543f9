-- The adjusters under the routine.
-- script: job.adjusters is the library's own
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job.adjusters.screw = nil --<
  end,
}
