-- After the last adjustment: idle and sensor, part throttle, cross-check, everything back on.

local finish = {}

-- A held speed shows the linkage's geometry. It is recorded, and never mended with an idle adjuster.
local function part_throttle(job)
  job:stage "Part throttle"
  if not job:comparable() or not job:confirm {
    key = "part.wanted", title = "Part throttle",
    text = ("Go round once more at a held %s? A second pair of hands or a throttle stop holds it."):format(
      job:shown("engine-speed", job.held_rpm, "rpm")),
    why = "At idle the stops and plates decide, off idle the linkage does. This pass looks at the linkage.",
  } then return end
  job:must {
    key = "part.held", title = "Speed held",
    text = ("Hold %s, steady, by the throttle itself. Held?"):format(job:shown("engine-speed", job.held_rpm, "rpm")),
    otherwise = "Hold it steady first; nobody leans over the stacks meanwhile.",
  }
  job:pass("part throttle")
  local verdict = job:verdict()
  if verdict.word == "uneven" then
    job:tell("What differs here and not at idle is linkage geometry: lever lengths, link angles, lash. " ..
      "Leave the idle adjusters as they are; set the linkage.")
  end
  job:stage "Part throttle"
  job:must {
    key = "part.released", title = "Back to idle",
    text = "Throttle let go, engine back at idle?", otherwise = "Let it come down to idle.",
  }
end

local function cross_check(job)
  job:stage "Cross-check"
  local way = job:choose {
    key = "cross.way", title = "Cross-check",
    text = "Does the shop have an instrument for it here?",
    why = "Even air with uneven heat points at fuel or spark, and no air adjuster mends that.",
    options = {
      { id = "none", text = "none at hand" },
      { id = "exhaust", text = "exhaust temperature at each port" },
      { id = "mixture", text = "a mixture sensor in the exhaust" },
    },
  }
  if way == "exhaust" then
    local lowest, highest, low_bore
    for _, bore in ipairs(job:state().layout.bores) do
      local heat = job:number {
        key = "cross.heat." .. bore, title = "Exhaust port, bore " .. bore,
        text = "At the port, the same distance from the head each time. Do not touch.",
        quantity = "temperature", unit = "C", low = 0, high = 1000,
      }
      if not lowest or heat < lowest then lowest, low_bore = heat, bore end
      if not highest or heat > highest then highest = heat end
    end
    local apart = job:shown_change("temperature", highest - lowest, "C")
    job:tell(highest - lowest > 60
      and ("Bore %s is %s colder than the hottest one. With even air that is fuel or spark there: " ..
        "injector, jet, plug, lead. Do not turn an air screw for it."):format(low_bore, apart)
      or ("The ports lie within %s: air and heat agree."):format(apart))
  elseif way == "mixture" then
    job:line {
      key = "cross.mixture", title = "Mixture", text = "What does it show, on which side? One line for the record.",
    }
    job:tell("With even air one sensor now speaks for both banks: what it says of one side holds for the other.")
  end
end

function finish.finish(job)
  if job:state().engine ~= "running" then
    job:stage "Finish"
    job:start_engine()
  end
  part_throttle(job)
  job:stage "Finish"
  job:set_idle()
  job:must {
    key = "finish.sensor", title = "Throttle sensor",
    text = "Closed-throttle zero of the throttle sensor set again, or none fitted?",
    why = "The closed position may have moved. The fuel follows that sensor.",
    otherwise = "Set it as the engine's maker says; the fuel goes by it.",
  }
  cross_check(job)
  job:stage "Finish"
  job:stop_engine "Switch it off and say when it stands."
  job:must {
    key = "finish.refitted", title = "Everything back on",
    text = "Ports opened again, lock nuts tight, clips on, tools counted, nothing left in a stack?",
    why = "What is forgotten now shows on the road.",
    otherwise = "Go round once more before you say so.",
  }
end

return finish
