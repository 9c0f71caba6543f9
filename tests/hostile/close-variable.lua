-- A variable with a function for its end.
-- script: got a non-closable value
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local x <close> = {} --<
    job:tell(tostring(x))
  end,
}
