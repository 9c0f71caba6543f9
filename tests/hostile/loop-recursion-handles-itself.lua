-- Recursion that raises what it caught.
-- budget: without asking or telling anything
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local function f() local _, e = pcall(f) error(e, 0) end --<
    while true do pcall(f) end
  end,
}
