-- A number of 65 000 digits, read again and again.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local s = ("1"):rep(65000)
    while true do
      tonumber(s) --<
    end
  end,
}
