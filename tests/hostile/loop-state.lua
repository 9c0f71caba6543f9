-- Requests without end that nobody answers.
-- budget: more and more of the core and asks nobody
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    while true do
      job:state() --<
    end
  end,
}
