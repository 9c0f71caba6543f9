-- A name that ends early for C.
-- script: require:
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = require 'api\0.lua' --<
    job:tell(tostring(found))
  end,
}
