-- A request of more than 64 KiB.
-- script: too much at once
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local hazards = {}
    for i = 1, 24 do hazards[i] = ("x"):rep(6000) .. i end
    job:caution { key = "k", title = "T", text = "T", hazards = hazards } --<
  end,
}
