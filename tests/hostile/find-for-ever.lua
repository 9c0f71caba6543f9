-- A long text looked for in a long text, again and again.
-- budget: more than 5000000 steps without asking
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local s, p = ("a"):rep(65535), ("a"):rep(30000) .. "b"
    while true do
      s:find(p) --<
    end
  end,
}
