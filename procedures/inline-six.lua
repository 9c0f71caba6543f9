-- Six throttles in a row as three coupled pairs: a coupler moves all in front of it against all behind it.
-- Shows sides made from stations, which hold from whichever end the maker counts.
return procedure {
  id = "inline-six", version = "1.0.0", api = 1,
  title = "Inline six in three coupled pairs",
  options = { numbering_option(1) },

  layout = function(given)
    local rows = numbering(given.numbering, 6)
    local row = rows[1]
    return {
      rows = rows,
      adjusters = {
        coupler { "coupler-front", stations(row, 1, 2), stations(row, 3), title = "front coupler" },
        coupler { "coupler-rear", stations(row, 1, 4), stations(row, 5), title = "rear coupler" },
        plates(rows),
      },
    }
  end,

  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
