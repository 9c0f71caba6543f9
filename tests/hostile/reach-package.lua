-- The loader of libraries.
-- script: there is no package here
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local found = package.loadlib('libc.so.6', 'system') --<
    job:tell(tostring(found))
  end,
}
