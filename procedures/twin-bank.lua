-- V6, V8, flat six and the like: each bank on one common shaft, and a link across.
-- Shows options: what differs from engine to engine is asked first, or taken from the engine file.
return procedure {
  id = "twin-bank", version = "1.0.0", api = 1,
  title = "Two banks, each on a common shaft, with a cross link",

  options = {
    { id = "cylinders", title = "Cylinders", text = "How many, both banks together?", low = 4, high = 12, step = 2 },
    numbering_option(2),
  },

  layout = function(given)
    local rows = numbering(given.numbering, given.cylinders)
    return {
      rows = rows, row_titles = { "left", "right" },
      adjusters = { link { "link", rows[1], rows[2] }, plates(rows) },
    }
  end,

  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
