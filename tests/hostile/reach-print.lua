-- The screen, past the session.
-- script: there is no print here; job:tell
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = print('owned') --<
    job:tell(tostring(found))
  end,
}
