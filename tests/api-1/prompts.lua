-- Every prompt with every field that it can have.
return procedure {
  id = "prompts", version = "1.0.0", api = 1, title = "Prompts",
  layout = {
    rows = { { 1, 2 } }, row_titles = { "row" }, plate_spread = 0.05,
    adjusters = {
      screw { "balance", { 1 }, { 2 }, title = "balance screw", effort = 2, stopped = false, gain = 1, gain_spread = 0.5,
        spread = 0.08, takes_off = {}, how = "Turn it a little." },
    },
  },
  tolerance = 0.05, risk = 0.05, cautions = { "own: the fan runs on" }, idle_rpm = 900, idle_by = "the stop",
  held_rpm = 2000, cold_tolerance = 0.05, warm_c = 75, plan = { method = "least-effort", least_move = 0.02, stop_effort = 12, reads_max = 16,
    attempts_max = 12 },
  gauge = { low = 1, high = 30, step = 0.25, best = { 1, 10 }, repeatability = 0.02, repeatability_weight = 4,
    unit = "div", vent = "two turns" },
  run = function(job)
    job:stage "Own stage"
    job:stop_engine "own: off?"
    job:baseline { required = false }
    job:caution { key = "own.caution", title = "C", text = "own", hazards = { "h" }, critical = true, applies = "stopped",
      why = "w", stage = "Own stage" }
    local yes = job:confirm { key = "own.confirm", title = "Q", text = "own?", why = "w", hands = true, perishable = false,
      default = true, stage = "Own stage" }
    job:tell("own: " .. type(yes) .. ", engine " .. job:state().engine)
    job:must { key = "own.must", title = "M", text = "own?", otherwise = "do it", hands = false }
    job:must { key = "own.off", title = "Off", text = "own: off?", otherwise = "do it", takes_off = { "lid" } }
    job:must { key = "own.on", title = "On", text = "own: on?", otherwise = "do it", refits = { "lid" } }
    local id = job:choose { key = "own.choose", title = "W", text = "own?", options = { { id = "a", text = "A" },
      { id = "b", text = "B" } } }
    job:tell("own: " .. type(id) .. " " .. tostring(id == "a" or id == "b"))
    local n = job:number { key = "own.number", title = "N", text = "own?", quantity = "length", unit = "mm", low = 0,
      high = 5, step = 0.1, holds = { 0, 5 } }
    job:tell { kind = "note", text = "own: " .. math.type(n * 1.0) .. " " .. tostring(n >= 0 and n <= 5) }
    local text = job:line { key = "own.line", title = "L", text = "own?", limit = 100 }
    job:tell { kind = "caution", text = "own: " .. type(text) }
    job:take_off { "guard" }
    job:tell("own: off " .. table.concat(job:state().open, ", "))
    job:tell("own: starts with a part off: " .. tostring(pcall(job.start_engine, job)))
    job:refit { "guard" }
    job:tell("own: off " .. #job:state().open)
    job:tell("own: reads a stopped engine: " .. tostring(pcall(job.read, job, 1)))
    job:throttle { bore_mm = 45, shaft_mm = 8, closed_deg = 7, pitch_mm = 0.8, lever_mm = 30, unit = "mm",
      idle = { ["1"] = { gap_mm = 0.05 }, ["2"] = { travel_mm = 0.4 } } }
    job:start_engine "own: runs?"
    job:tell("own: engine " .. job:state().engine .. ", takes off: " .. tostring(pcall(job.take_off, job, { "guard" })))
    job:must { key = "own.snap", title = "S", text = "own: snapped?", otherwise = "do it", snaps = true }
    job:warm()
    job:set_idle()
    local passes, attempts = job:state().pass, job:state().attempts
    job:pass()
    job:tell(("own: %d pass more, last readings of both: %s"):format(job:state().pass - passes,
      type(job:state().readings["1"]) .. " " .. type(job:state().readings["2"])))
    local value = job:read(1, "own: once more", false)
    job:read(1, "own: pushed open", false, "open")
    job:read(1, "own: pushed shut", true, "shut")
    job:tell("own: " .. type(value))
    job:read_again { 1, 2 }
    job:tell("own: " .. tostring(job:comparable()))
    local verdict = job:verdict()
    for _, name in ipairs { "word", "claim", "tolerance", "risk", "spread", "worst", "probability", "repeatability",
      "degrees_of_freedom", "condition", "bores", "contrasts" } do
      job:tell("own: verdict." .. name .. " " .. type(verdict[name]))
    end
    local planned = job:plan { one_at_a_time = true, without = {} }
    for _, name in ipairs { "step", "read", "moves", "effort", "expected", "expected_spread", "probability_before",
      "probability_after", "reason" } do
      job:tell("own: plan." .. name .. " " .. type(planned[name]))
    end
    local done = job:move({ adjuster = "balance", move = 0.02, amount = nil, share = nil, expected = nil }, {}, {})
    job:tell("own: " .. type(done))
    job:tell("own: " .. type(job:explain().step))
    job:adjust { { adjuster = "balance", move = -0.02 } }
    job:tell("own: attempts counted: " .. tostring(job:state().attempts > attempts) .. ", an unknown one is moved: " ..
      tostring(pcall(job.move, job, { adjuster = "none", move = 0.02 })))
    job:period "own reason"
    job:pass()
    job:verdict()
    job:tell("own: " .. job:shown("temperature", 75, "C") .. ", " .. job:shown_change("temperature", 3, "C"))
    local state = job:state()
    local gauge = state.gauge
    job:tell(("own: gauge %g to %g, %g, best %g to %g, %s, %s"):format(gauge.low, gauge.high, gauge.step, gauge.best[1],
      gauge.best[2], gauge.unit, gauge.vent))
    job:tell(("own: %g, %g, warm %g, cold %g, held %g, idle by %s"):format(state.tolerance, state.risk, job.warm_c,
      job.cold_tolerance, job.held_rpm, job.idle_by))
    for _, name in ipairs { "engine", "open", "pass", "attempts", "layout", "gauge", "tolerance", "risk", "inputs",
      "readings" } do
      job:tell("own: state." .. name .. " " .. type(state[name]))
    end
    for _, name in ipairs { "warm_c", "idle_by", "held_rpm" } do
      job:tell("own: job." .. name .. " " .. type(job[name]))
    end
    job:stop_engine()
    job:leave_out(1, "own reason")
    job:tell("own: comparable " .. tostring(job:comparable()) .. ", read: " .. tostring(job:read(1)))
  end,
}
