-- All integers as arguments.
-- script: too many values at once; at most 250
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    table.unpack({}, math.mininteger, math.maxinteger) --<
  end,
}
