-- Long texts as keys: each is read whole.
-- budget: without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local s, t, n = ("a"):rep(65000), {}, 0
    while true do n = n + 1 t[s .. n % 9] = n end --<
  end,
}
