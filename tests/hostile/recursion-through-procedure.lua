-- A procedure that declares another one and runs it.
-- script: attempt to
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local other = procedure {
      id = "other", version = "1", api = 1, title = "Other",
      layout = { rows = { { 1, 2 } }, adjusters = { screw { "s", { 1 }, { 2 } } } },
      run = function() while true do end end,
    }
    other.run(job) --<
  end,
}
