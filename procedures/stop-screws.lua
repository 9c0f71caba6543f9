-- Any number of bores in a row, each with a stop screw of its own and nothing between them.
-- Shows a loop that builds the adjusters, and geometry: with it moves come as turns of a screw.
return procedure {
  id = "stop-screws", version = "1.0.0", api = 1,
  title = "One stop screw for each bore",

  options = {
    { id = "bores", title = "Bores", text = "How many in the row?", low = 2, high = 12 },
    numbering_option(1),
    { id = "pitch_mm", title = "Screw pitch", text = "How far a stop screw goes in one turn: 0.8 for M5, 1 for M6.",
      quantity = "length", unit = "mm", low = 0.2, high = 2 },
    { id = "lever_mm", title = "Lever", text = "From the middle of the throttle shaft to where the screw pushes.",
      quantity = "length", unit = "mm", low = 5, high = 100 },
  },
  idle_by = "all stop screws, each turned by the same amount",
  throttle = function(given) return { pitch_mm = given.pitch_mm, lever_mm = given.lever_mm } end,

  layout = function(given)
    local screws = {}
    for bore = 1, given.bores do screws[bore] = screw { "stop-" .. bore, { bore } } end
    return { rows = numbering(given.numbering, given.bores), adjusters = screws }
  end,

  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
