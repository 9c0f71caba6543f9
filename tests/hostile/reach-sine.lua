-- A function that differs between machines.
-- script: there is no math.sin here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = math.sin(1) --<
    job:tell(tostring(found))
  end,
}
