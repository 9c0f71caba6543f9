-- A pcall inside a pcall inside a pcall, with no end.
-- script: overflow
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local function f()
      local ok, e = pcall(f)
      if not ok then error(e, 0) end --<
    end
    f()
  end,
}
