-- expect: line 9; remedy: tell them apart
return procedure {
  id = "mine", version = "1.0.0", api = 1,
  title = "Mine",
  layout = {
    rows = { { 1, 2, 3, 4 } },
    adjusters = {
      screw { "middle", { 1, 2 }, { 3, 4 } },
      screw { "front", { 1 }, { 2 }, title = "balance screw" },
      screw { "rear", { 3 }, { 4 } },
    },
  },
  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
