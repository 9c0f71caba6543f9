-- A field wider than any screen.
-- script: invalid conversion
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local s = string.format("%999d", 1) --<
    job:tell(s)
  end,
}
