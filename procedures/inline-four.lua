-- Four throttles in a row, joined in pairs by three balance screws that are turned while the engine runs.
-- Shows adjusters that need no stop: after each, idle is set again and the next readings count from there.
return procedure {
  id = "inline-four", version = "1.0.0", api = 1,
  title = "Inline four with three balance screws",

  layout = {
    rows = { { 1, 2, 3, 4 } },
    adjusters = {
      screw { "middle", { 1, 2 }, { 3, 4 }, title = "middle balance screw" },
      screw { "front",  { 1 }, { 2 }, title = "balance screw between 1 and 2" },
      screw { "rear",   { 3 }, { 4 }, title = "balance screw between 3 and 4" },
    },
  },

  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
