-- Addresses in texts, which differ between two runs.
-- ask: table function userdata
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local kinds = { tostring({}), tostring(function() end), type(job) }
    local ok = pcall(string.format, "%p", {})
    job:confirm { key = "k", title = "T", text = table.concat(kinds, " ") .. " " .. tostring(ok) }
  end,
}
