-- A reading of an engine that stands.
-- script: running
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:stop_engine()
    job:read(1) --<
  end,
}
