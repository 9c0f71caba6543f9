-- expect: line 8; remedy: another alphabet
return procedure {
  id = "mine", version = "1.0.0", api = 1,
  title = "Mine",
  layout = {
    rows = { { 1, 2, 3, 4 } },
    adjusters = {
      screw { "mіddle", { 1, 2 }, { 3, 4 }, title = "mіddle screw" },
      screw { "front", { 1 }, { 2 }, title = "front screw" },
      screw { "rear", { 3 }, { 4 }, title = "rear screw" },
    },
  },
  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
