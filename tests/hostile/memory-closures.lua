-- Functions without end.
-- budget: bytes
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local last
    while true do
      local before = last
      last = function() return before end --<
    end
  end,
}
