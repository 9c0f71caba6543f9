-- The parts that come off, for all adjusters of a kind.
-- script: adjuster.takes_off is the library's own
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local made = plate { "plate", { 1 } }
    made.takes_off[1] = nil --<
  end,
}
