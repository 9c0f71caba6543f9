-- More options than a person can read.
-- script: options is to be a list of 2 to 24
return procedure {
  id = "hostile", version = "1", api = 1, title = "Hostile",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    local options = {}
    for i = 1, 1000 do options[i] = { id = "o" .. i, text = "Option " .. i } end
    job:choose { key = "k", title = "T", text = "T", options = options } --<
  end,
}
