-- expect: line 10; remedy: leave one of them out
return procedure {
  id = "mine", version = "1.0.0", api = 1,
  title = "Mine",
  layout = {
    rows = { { 1, 2, 3, 4 } },
    adjusters = {
      screw { "middle", { 1, 2 }, { 3, 4 }, title = "middle screw" },
      screw { "front", { 1 }, { 2 }, title = "front screw" },
      screw { "front-2", { 2 }, { 1 }, title = "front-2 screw" },
    },
  },
  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
