-- A list with holes.
-- script: names and numbers among its keys, or numbers with holes
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:choose { key = "k", title = "T", text = "T", options = { [1] = { id = "a", text = "a" }, [99] = { id = "b", text = "b" } } } --<
  end,
}
