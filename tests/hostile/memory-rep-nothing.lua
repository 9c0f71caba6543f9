-- Nothing, repeated for ever.
-- ask: length 0
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local s = (""):rep(1 << 62)
    job:confirm { key = "k", title = "Nothing", text = "length " .. #s }
  end,
}
