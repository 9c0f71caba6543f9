-- A unit that hides something.
-- bad-unit: is no unit that is known here
return procedure {
  id = "hostile", version = "1", api = 1, gauge = { unit = "kg\u{200B}/h" }, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
  end,
}
