-- Work without end, with a request in between that nobody answers.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    while true do
      for _ = 1, 100000 do end --<
      job:state()
    end
  end,
}
