-- A function that always calls itself.
-- budget: calls inside calls without end
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local function f() return 1 + f() end --<
    f()
  end,
}
