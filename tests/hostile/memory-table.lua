-- A list without end.
-- budget: a table or list that needs more than 1048576 bytes
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local t = {}
    for i = 1, 1 << 40 do
      t[i] = i --<
    end
  end,
}
