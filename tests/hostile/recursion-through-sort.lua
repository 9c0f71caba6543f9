-- Sorts inside comparisons inside sorts.
-- script: C stack overflow
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local function f() table.sort({ 1, 2 }, f) end --<
    f()
  end,
}
