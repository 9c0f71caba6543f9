-- A V12: two banks of three coupled pairs, and a link across.
-- Shows one bank written once and gone through for both.
return procedure {
  id = "v12-coupled", version = "1.0.0", api = 1,
  title = "V12, two banks of three coupled pairs with a cross link",
  options = { numbering_option(2) },

  layout = function(given)
    local rows, sides = numbering(given.numbering, 12), { "left", "right" }
    local adjusters = { link { "link", rows[1], rows[2] }, plates(rows) }
    for i, row in ipairs(rows) do
      table.insert(adjusters, coupler { "coupler-" .. sides[i] .. "-front", stations(row, 1, 2), stations(row, 3),
        title = sides[i] .. " front coupler" })
      table.insert(adjusters, coupler { "coupler-" .. sides[i] .. "-rear", stations(row, 1, 4), stations(row, 5),
        title = sides[i] .. " rear coupler" })
    end
    return { rows = rows, row_titles = sides, adjusters = adjusters }
  end,

  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
