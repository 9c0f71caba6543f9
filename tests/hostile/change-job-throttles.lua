-- What is known of the throttles.
-- script: job.throttles is the library's own
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job.throttles.bore_mm = 1 --<
  end,
}
