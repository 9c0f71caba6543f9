-- A part taken off a running engine.
-- script: parts come off a stopped engine only
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:start_engine()
    job:take_off { "return spring" } --<
  end,
}
