-- The order of a table's keys, which differs between two runs.
-- ask: abcdefghij
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local t, s = {}, ""
    for _, c in ipairs { "j", "i", "h", "g", "f", "e", "d", "c", "b", "a" } do t[c] = true end
    for c in pairs(t) do s = s .. c end
    job:confirm { key = "k", title = "T", text = s }
  end,
}
