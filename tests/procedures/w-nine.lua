-- Written by the guide (procedures/README.md) alone: W nine, one link, screws on the right bank
-- All that can be written here: evenbore manual api. Then: evenbore check, evenbore rehearse.
return procedure {
  id = "w-nine", version = "1.0.0", api = 1,
  title = "W nine, one link, screws on the right bank",

  layout = {
    -- Bores by cylinder number, each row from the front of the engine to its rear.
    rows = {
      { 1, 2, 3 },
      { 4, 5, 6 },
      { 7, 8, 9 },
    },
    row_titles = { "left", "middle", "right" },
    -- What can be adjusted: its id, the bores that it raises, the bores that it lowers.
    -- More of each: title = "...", effort = minutes, takes_off = { "part" }, how = "...".
    adjusters = {
      link { "link", { 1, 2, 3 }, { 4, 5, 6 }, title = "link between left and middle", takes_off = { "valley cover" } },
      screw { "screw-7", { 7 } },
      screw { "screw-8", { 8 } },
      screw { "screw-9", { 9 } },
      plate { "plate-1", { 1 } },
      plate { "plate-2", { 2 } },
      plate { "plate-3", { 3 } },
      plate { "plate-4", { 4 } },
      plate { "plate-5", { 5 } },
      plate { "plate-6", { 6 } },
    },
  },

  idle_rpm = 950,
  idle_by = "the common stop of all three banks",

  run = function(job)
    job:prepare() -- cautions, cold checks, gauge, warm and steady, idle
    job:balance() -- pass, verdict, plan, adjust, until the claim holds
    job:finish()  -- part throttle, sensor, cross-check, everything back on
  end,
}
