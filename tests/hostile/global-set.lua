-- A name for everybody.
-- script: count cannot be set here; a name of your own begins with: local count
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    count = 1 --<
  end,
}
