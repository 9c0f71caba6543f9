-- An error that is a table.
-- script: an error value of type table was raised
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    error({ code = 1 }) --<
  end,
}
