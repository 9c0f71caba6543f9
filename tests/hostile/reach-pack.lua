-- Bytes as numbers.
-- script: there is no string.pack here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = string.pack('j', 1) --<
    job:tell(tostring(found))
  end,
}
