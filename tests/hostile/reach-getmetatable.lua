-- The table behind texts.
-- script: there is no getmetatable here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = getmetatable('').__index --<
    job:tell(tostring(found))
  end,
}
