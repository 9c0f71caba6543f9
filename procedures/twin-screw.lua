-- Two throttles and the one screw between them: the least that a procedure can be.
return procedure {
  id = "twin-screw", version = "1.0.0", api = 1,
  title = "Twin with one balance screw",
  layout = {
    rows = { { 1, 2 } },
    adjusters = { screw { "balance", { 1 }, { 2 }, title = "balance screw" } },
  },
  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
