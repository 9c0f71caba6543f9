-- Text that hides something.
-- script: U+200B
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    job:choose { key = "k", title = "T", text = "T", options = { { id = "a", text = "yes" }, { id = "b", text = "y\u{200B}es" } } } --<
  end,
}
