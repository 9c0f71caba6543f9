-- A thread whose instructions count anew.
-- script: there is no coroutine here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = coroutine.wrap(function() while true do end end)() --<
    job:tell(tostring(found))
  end,
}
