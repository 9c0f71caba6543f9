-- Chance, which no replay repeats.
-- script: there is no math.random here; a procedure does the same on every run
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = math.random() --<
    job:tell(tostring(found))
  end,
}
