-- Rubbish made near the cap, where each new block costs a collection.
-- budget: more than
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local keep, text = {}, ("abcdefghij"):rep(6000)
    for i = 1, 230 do keep[i] = text .. i end
    local n = 0
    while true do n = n + 1 local s = keep[1] .. n end --<
  end,
}
