-- A division that has no result.
-- script: attempt to divide by zero
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:tell(tostring(1 // 0)) --<
  end,
}
