-- A table whose length is 2^62, moved by one.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local t = {}
    for i = 0, 62 do t[1 << i] = 1 end
    for i = 1, 8 do t[i] = 1 end
    table.insert(t, 1, 0) --<
  end,
}
