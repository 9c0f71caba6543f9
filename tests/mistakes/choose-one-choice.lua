-- expect: line 15; remedy: 2 to 24
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
    job:choose { key = "c", title = "C", text = "Which?", options = { { id = "a", text = "A" } } }
    job:balance()
    job:finish()
  end,
}
