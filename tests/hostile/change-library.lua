-- A library file's function replaced.
-- script: fields.check cannot be changed
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local fields = require "fields"
    fields.check = function() end --<
  end,
}
