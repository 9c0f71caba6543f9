-- More hazards than anybody reads.
-- script: hazards is to be a list of 1 to 24 texts
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local hazards = {}
    for i = 1, 25 do hazards[i] = "Hazard " .. i end
    job:caution { key = "k", title = "T", text = "T", hazards = hazards } --<
  end,
}
