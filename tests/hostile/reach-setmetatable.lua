-- A table of one's own making.
-- script: there is no setmetatable here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = setmetatable({}, { __gc = function() end }) --<
    job:tell(tostring(found))
  end,
}
