-- A side of an adjuster after it was declared.
-- script: adjuster.layout is the library's own
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local made = plate { "plate", { 1 } }
    made.layout.sides[1][1] = '2' --<
  end,
}
