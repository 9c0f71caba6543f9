-- A name that C might take as a format.
-- script: require: there is no library file lib/%s%s%n.lua
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = require '%s%s%n' --<
    job:tell(tostring(found))
  end,
}
