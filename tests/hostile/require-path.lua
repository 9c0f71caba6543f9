-- A file elsewhere on the disk.
-- script: require: there is no library file lib/../../../etc/passwd.lua
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = require '../../../etc/passwd' --<
    job:tell(tostring(found))
  end,
}
