-- The mechanical baseline of any manifold, by itself: before the engine is run, after a rebuild, before a balance.
local both = numbering_option(2)
for _, choice in ipairs(numbering_option(1).choices) do table.insert(both.choices, choice) end
both.text = "One row or two, and how are they numbered? Left and right as seen from behind, looking forward."

local one_row = { ["front-to-rear"] = true, ["rear-to-front"] = true }

return procedure {
  id = "cold-baseline", version = "1.0.0", api = 1,
  title = "Cold baseline: linkage, stops and plates, engine off",
  tolerance = 0.15,   -- of the plates' openings; a feeler does not show less
  options = { { id = "bores", title = "Bores", text = "How many in each row?", low = 1, high = 8 }, both },

  layout = function(given)
    local single = one_row[given.numbering]
    local rows = numbering(given.numbering, single and given.bores or 2 * given.bores)
    return { rows = rows, row_titles = not single and { "left", "right" } or nil, adjusters = plates(rows) }
  end,

  run = function(job)
    job:stage "Engine off"
    job:baseline { required = true }   -- linkage, ends of travel, stop and spring; each plate measured, and set
    job:must {
      key = "cold.refitted", title = "Everything back on", otherwise = "Go round once more before you say so.",
      text = "Spring and stop on, throttle snaps shut, tools counted, nothing left in a stack?",
    }
  end,
}
