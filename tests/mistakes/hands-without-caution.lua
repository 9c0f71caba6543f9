-- expect: line 15; remedy: hands = true
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
    job:must { key = "clip", title = "Clip", text = "Engine idling: press the clip home. Done?", otherwise = "Do it." }
    job:balance()
    job:finish()
  end,
}
