-- A library of Lua's own.
-- script: require: there is no library file lib/io.lua
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = require 'io' --<
    job:tell(tostring(found))
  end,
}
