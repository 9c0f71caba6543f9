-- Refused members of the job, again and again.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    while true do
      pcall(function() return job.frobnicate end) --<
    end
  end,
}
