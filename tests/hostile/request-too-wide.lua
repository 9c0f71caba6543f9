-- A table of more members than a request may have.
-- script: more than 4096 members in one table
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local list = {}
    for i = 1, 20000 do list[i] = i end
    job:throttle { idle = list } --<
  end,
}
