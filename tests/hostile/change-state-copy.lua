-- What the core tells is a copy: changing it changes nothing.
-- ask: bores 2
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local state = job:state()
    state.layout.bores[2] = nil
    state.engine, state.tolerance = "running", 1
    job:confirm { key = "k", title = "Still", text = "bores " .. #job:state().layout.bores }
  end,
}
