-- The same by its old name.
-- script: there is no loadstring here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = loadstring('return os')() --<
    job:tell(tostring(found))
  end,
}
