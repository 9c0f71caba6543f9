-- Memory that runs out inside a pcall.
-- budget: a table or list that needs more than 1048576 bytes
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local keep = {}
    local function fill() for i = 1, 1 << 40 do keep[i] = { i } end end
    while true do pcall(fill) end --<
  end,
}
