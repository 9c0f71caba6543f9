-- A table that holds itself.
-- script: more than 16 tables inside one another
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local t = {}
    t.idle = t
    job:throttle(t) --<
  end,
}
