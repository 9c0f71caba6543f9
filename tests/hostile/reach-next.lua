-- A table's own order.
-- script: there is no next here; use pairs
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = next(job) --<
    job:tell(tostring(found))
  end,
}
