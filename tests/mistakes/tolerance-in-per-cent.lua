-- expect: line 4; remedy: 5 % is 0.05
return procedure {
  id = "mine", version = "1.0.0", api = 1,
  title = "Mine", tolerance = 5,
  layout = {
    rows = { { 1, 2, 3, 4 } },
    adjusters = {
      screw { "middle", { 1, 2 }, { 3, 4 } },
      screw { "front", { 1 }, { 2 } },
      screw { "rear", { 3 }, { 4 } },
    },
  },
  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
