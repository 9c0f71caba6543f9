-- A loop to the last integer, and one with the step 0.
-- script: 'for' step is zero
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local n = 0
    for _ = math.maxinteger - 2, math.maxinteger do n = n + 1 end
    for _ = 1, n, 0 do end --<
  end,
}
