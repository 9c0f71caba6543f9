-- The engine asked to run while a part is off.
-- script: spring
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:stop_engine()
    job:take_off { "return spring" }
    job:start_engine() --<
  end,
}
