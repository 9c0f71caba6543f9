-- The debug library, which opens everything.
-- script: there is no debug here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = debug.getregistry() --<
    job:tell(tostring(found))
  end,
}
