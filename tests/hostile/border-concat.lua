-- All integers, joined.
-- script: there is no element 1
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    table.concat({}, "", 1, math.maxinteger) --<
  end,
}
