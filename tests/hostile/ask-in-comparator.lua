-- A prompt in the middle of a sort.
-- script: nothing can be asked or told here; only inside `run`
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    table.sort({ 2, 1 }, function(a, b)
      job:confirm { key = "k", title = "T", text = "T" } --<
      return a < b
    end)
  end,
}
