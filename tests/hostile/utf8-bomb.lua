-- A text decoded again and again.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local s = ("a"):rep(65000)
    while true do
      utf8.codepoint(s, 1, 30000) --<
    end
  end,
}
