-- Two functions that call one another as their last act.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local b
    local function a() return b() end b = function() return a() end --<
    a()
  end,
}
