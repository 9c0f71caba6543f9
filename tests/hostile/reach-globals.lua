-- All names in one table.
-- script: there is no _G here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = _G.require --<
    job:tell(tostring(found))
  end,
}
