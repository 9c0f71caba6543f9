-- After the last adjustment: idle and sensor, part throttle, cross-check, everything back on.

local fields = require "fields"

local finish = {}

local function bores_of(list)
  return (#list == 1 and "bore " or "bores ") .. table.concat(list, ", ")
end

-- Which part of the linkage: a cross link, a coupler, one lever.
local function part_of(job, part)
  if part.adjuster then return "the " .. job.adjusters[part.adjuster].layout.title end
  return "the lever or plate of " .. bores_of(#part.more <= #part.less and part.more or part.less)
end

-- What the linkage does off idle that it does not at idle. It is set at the linkage, never by an idle adjuster.
local function compare(job)
  local reply = fields.try(job, "Idle and part throttle are not compared", { op = "compare", second = "part throttle" })
  if not reply then return end
  local differs
  for _, part in ipairs(reply.comparison.parts) do
    if part.differs then
      differs = true
      core.request {
        op = "tell", kind = "comparison", stage = job.at.stage,
        text = ("Off idle %s open %.1f %% further than %s: look at %s."):format(
          bores_of(part.more), part.value * 100, bores_of(part.less), part_of(job, part)),
      }
    end
  end
  core.request {
    op = "tell", kind = "comparison", stage = job.at.stage,
    text = differs and "That is linkage: lever lengths, link angles, lash. Set it there, and leave the idle adjusters."
      or "Off idle as at idle, as far as the readings tell: nothing to set at the linkage.",
  }
end

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
  if job:comparable() then -- the pass may have left a bore out
    job:verdict()
    compare(job)
  end
  job:stage "Part throttle"
  job:must {
    key = "part.released", title = "Back to idle",
    text = "Throttle let go, engine back at idle?", otherwise = "Let it come down to idle.",
  }
end

function finish.finish(job)
  if fields.known("engine") ~= "running" then
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
  job:cross_check()
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
