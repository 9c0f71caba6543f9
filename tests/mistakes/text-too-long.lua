-- expect: line 15; remedy: at a glance
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
    job:confirm { key = "a", title = "A", text = "Look at every clamp and every hose once more. Look at every clamp and every hose once more. Look at every clamp and every hose once more. Look at every clamp and every hose once more. " }
    job:balance()
    job:finish()
  end,
}
