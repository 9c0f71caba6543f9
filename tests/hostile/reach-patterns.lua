-- A pattern that takes seconds inside C.
-- script: there is no string.match here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = ('a'):rep(60000):match('.-b') --<
    job:tell(tostring(found))
  end,
}
