-- A call of the job replaced.
-- script: job.confirm cannot be set
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job.confirm = function() return true end --<
  end,
}
