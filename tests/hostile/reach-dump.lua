-- Bytecode of a function.
-- script: there is no string.dump here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = string.dump(function() end) --<
    job:tell(tostring(found))
  end,
}
