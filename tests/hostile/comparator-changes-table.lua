-- A comparison that empties the table that is being sorted.
-- ask: sorted 0
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local t = { 3, 1, 2 }
    pcall(table.sort, t, function(a, b) t[1], t[2], t[3] = nil, nil, nil return a < b end)
    for i = 1, 3 do t[i] = nil end
    job:confirm { key = "k", title = "Done", text = "sorted " .. #t }
  end,
}
