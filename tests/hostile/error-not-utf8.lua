-- An error that is no text.
-- script: caf\xE9
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    error("caf\xe9") --<
  end,
}
