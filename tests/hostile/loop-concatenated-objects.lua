-- Operators on objects that have none.
-- script: attempt to perform arithmetic on a userdata value (local 'job')
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local sum = 0
    sum = sum + job --<
    job:tell(sum)
  end,
}
