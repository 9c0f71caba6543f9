-- A name that nobody has given.
-- script: there is no frobnicate here; a name of your own begins with: local frobnicate
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = frobnicate() --<
    job:tell(tostring(found))
  end,
}
