-- A sort whose ties could fall either way.
-- ask: 1a 1b 1c 2a 2b
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local t = { { 2, "a" }, { 1, "a" }, { 2, "b" }, { 1, "b" }, { 1, "c" } }
    table.sort(t, function(a, b) return a[1] < b[1] end)
    local s = {}
    for i, pair in ipairs(t) do s[i] = pair[1] .. pair[2] end
    job:confirm { key = "k", title = "T", text = table.concat(s, " ") }
  end,
}
