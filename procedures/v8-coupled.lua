-- A V8 with one throttle per cylinder: two banks of two coupled pairs, and a link across.
-- Bores by cylinder number: odd ones on the left, even ones on the right, front to rear.
return procedure {
  id = "v8-coupled", version = "1.0.0", api = 1,
  title = "V8, two banks of coupled pairs with a cross link",

  layout = {
    rows = { { 1, 3, 5, 7 }, { 2, 4, 6, 8 } },
    row_titles = { "left", "right" },
    adjusters = {
      link    { "link",          { 1, 3, 5, 7 }, { 2, 4, 6, 8 } },
      coupler { "coupler-left",  { 1, 3 }, { 5, 7 }, title = "left coupler" },
      coupler { "coupler-right", { 2, 4 }, { 6, 8 }, title = "right coupler" },
      plate { "plate-1", { 1 } }, plate { "plate-2", { 2 } },
      plate { "plate-3", { 3 } }, plate { "plate-4", { 4 } },
      plate { "plate-5", { 5 } }, plate { "plate-6", { 6 } },
      plate { "plate-7", { 7 } }, plate { "plate-8", { 8 } },
    },
  },

  run = function(job)
    job:prepare()   -- cautions, baseline, sealing, gauge, warm and steady, idle
    job:balance()   -- pass, verdict, plan, adjust, until the claim holds
    job:finish()    -- idle and sensor, part throttle, cross-check, refit
  end,
}
