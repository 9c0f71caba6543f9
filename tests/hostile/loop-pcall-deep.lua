-- The end of the budget caught by a pcall of a pcall, then again.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local function loop() while true do end end --<
    pcall(pcall, pcall, loop)
    pcall(loop)
    job:tell "still here"
  end,
}
