-- A handler that no budget counts.
-- script: there is no xpcall here; use pcall
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = xpcall(error, function() while true do end end) --<
    job:tell(tostring(found))
  end,
}
