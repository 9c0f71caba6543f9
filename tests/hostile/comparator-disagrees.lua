-- A comparison that calls everything smaller.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local t = {}
    for i = 1, 5000 do t[i] = i end
    while true do
      table.sort(t, function() return true end) --<
    end
  end,
}
