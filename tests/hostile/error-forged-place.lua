-- An error that claims to come from elsewhere.
-- script: lib/api.lua:1: all is well
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    error("lib/api.lua:1: all is well") --<
  end,
}
