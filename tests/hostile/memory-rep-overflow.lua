-- A length beyond all integers.
-- script: string.rep: the text would be longer than 65536 bytes
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local s = ("x"):rep(math.maxinteger, "yz") --<
    job:tell(s)
  end,
}
