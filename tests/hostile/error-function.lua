-- An error that is a function.
-- script: an error value of type function was raised
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    error(function() while true do end end) --<
  end,
}
