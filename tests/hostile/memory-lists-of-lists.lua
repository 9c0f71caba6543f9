-- Many small tables.
-- budget: holds more than 16777216 bytes of memory
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local t = {}
    while true do
      t = { t, {}, {}, {} } --<
    end
  end,
}
