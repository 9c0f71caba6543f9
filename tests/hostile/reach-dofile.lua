-- Another file.
-- script: there is no dofile here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = dofile('/tmp/x.lua') --<
    job:tell(tostring(found))
  end,
}
