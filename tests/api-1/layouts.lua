-- Every kind of adjuster, numbering, options and the routine.
return procedure {
  id = "layouts", version = "1.0.0", api = 1, title = "Layouts",
  options = {
    { id = "own", title = "O", text = "own?", why = "w", choices = { { id = "a", text = "A" }, { id = "b", text = "B" } } },
    { id = "lever_mm", title = "N", text = "own?", quantity = "length", unit = "mm", low = 10, high = 20, step = 5 },
    numbering_option(2),
  },
  throttle = function(given) return { lever_mm = given.lever_mm } end,
  layout = function(given)
    local rows = numbering(given.numbering, 8)
    local left, right = rows[1], rows[2]
    return {
      rows = rows,
      adjusters = {
        link { "link", left, right },
        coupler { "coupler", stations(left, 1, 2), stations(left, 3) },
        screw { "screw", stations(right, 1, 2), stations(right, 3) },
        bleed { "bleed", { right[1] } },
        plate { "plate", { right[2] } },
        adjuster { "own", { right[3] }, { right[4] }, kind = "wedge", effort = 3, stopped = true },
        plates { left },
      },
    }
  end,
  run = function(job)
    for _, scheme in ipairs { "odd-left", "odd-right", "left-first", "right-first", "front-to-rear", "rear-to-front" } do
      local rows = numbering(scheme, 4)
      for i, row in ipairs(rows) do rows[i] = table.concat(row, " ") end
      job:tell(("own: %s: %s"):format(scheme, table.concat(rows, " / ")))
    end
    job:tell("own: stations " .. table.concat(stations({ 5, 6, 7, 8 }, 2, 3), " "))
    job:tell("own: bores " .. table.concat(job:state().layout.bores, " "))
    for _, adjuster in ipairs(job:state().layout.adjusters) do
      local sides = { table.concat(adjuster.sides[1], " "), adjuster.sides[2] and table.concat(adjuster.sides[2], " ") }
      job:tell(("own: %s is a %s, stopped %s, %s"):format(adjuster.id, adjuster.kind, tostring(adjuster.stopped),
        table.concat(sides, " against ")))
    end
    job:prepare()
    job:cross_check()
    job:balance()
    job:finish()
    job:confirm { key = "own.end", title = "E", text = "own?" }
  end,
}
