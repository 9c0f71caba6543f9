-- expect: line 15; remedy: nil
return procedure {
  id = "mine", version = "1.0.0", api = 1,
  title = "Mine",
  layout = {
    rows = { { 1, 2, 3, 4 } },
    adjusters = {
      screw { "middle", { 1, 2 }, { 3, 4 }, title = "middle screw" },
      screw { "front", { 1 }, { 2 }, title = "front screw" },
      screw { "rear", { 3 }, { 4 }, title = "rear screw" },
    },
  },
  run = function(job)
    job:prepare()
    local gap = job:state().gap * 2
    job:balance()
    job:finish()
  end,
}
