-- Before the first pass: baseline, sealing, gauge, warm and steady, idle.

local fields = require "fields"

local prepare = {}

local cold_checks = {
  {
    key = "cold.sealed", title = "Stacks sealed",
    text = "Stacks tight on their bores, clamp slits and gaskets sealed?",
    why = "A leak behind the gauge is air that the gauge does not see: the bore reads low and runs lean.",
    otherwise = "Seal them first. A leak cannot be balanced away.",
  },
  {
    key = "cold.ports", title = "Ports closed off",
    text = "Idle-air, brake and vacuum ports closed off, or joined as the maker wants them for this work?",
    why = "Air that comes in by a port goes past the throttles and hides what they do.",
    otherwise = "Close them off first, and note which ones: they are opened again at the end.",
  },
}

local function describe(gauge)
  return ("scale %g to %g %s, read to %g, best from %g to %g, repeats to %.3g %%"):format(
    gauge.low, gauge.high, gauge.unit, gauge.step, gauge.best[1], gauge.best[2], gauge.repeatability * 100)
end

local function ask_mark(job, key, title, text, low, high)
  return job:number {
    key = "gauge." .. key, title = "Gauge: " .. title, text = text,
    quantity = "flow", unit = fields.known("gauge").unit, low = low, high = high,
  }
end

-- The gauge as it was given, or typed in now.
local function settle_gauge(job)
  if job:confirm {
    key = "gauge.right", title = "The gauge",
    text = "Is this your gauge: " .. describe(fields.known("gauge")) .. "?",
    why = "How fine it can be read and how well it repeats decides what can be claimed in the end.",
  } then return end
  local low = ask_mark(job, "low", "lowest mark", "The lowest mark of its scale.", 0, 10000)
  local high = ask_mark(job, "high", "highest mark", "The highest mark of its scale.", 0.01, 100000)
  local step = ask_mark(job, "step", "readable step", "The smallest difference that you can read.", 0.001, 1000)
  local best_low = ask_mark(job, "best.low", "best band, from", "Where its fine part begins.", 0, 10000)
  local best_high = ask_mark(job, "best.high", "best band, to", "Where its fine part ends.", 0.01, 100000)
  local repeats = job:number {
    key = "gauge.repeats", title = "Gauge: repeatability",
    text = "How far two readings of the same bore usually differ; 2 % if you do not know.",
    quantity = "ratio", unit = "%", low = 0.1, high = 20,
  }
  local fit = fields.try(job, "These marks do not fit together", { op = "gauge", gauge = {
    low = low, high = high, step = step, best = { best_low, best_high }, repeatability = repeats / 100,
  } })
  if not fit then settle_gauge(job) end
end

-- Warm AND steady: a manifold grows as it warms, and grows away from a steel link.
-- Two readings some minutes apart; after a later start one, as it was when it was steady.
function prepare.warm(job)
  local before = job.at.steady_c
  local function shown(temperature_c) return job:shown("temperature", temperature_c, "C") end
  while true do
    local now = job:number {
      key = "warm.temperature", title = before and "Temperature, once more" or "Temperature",
      text = before
        and ("The same thermometer, the same place, %s before: what does it read now?"):format(shown(before))
        or ("Coolant or oil, at operating temperature: at least %s."):format(shown(job.warm_c)),
      why = "A manifold grows as it warms and grows away from a steel link. Balance found cold does not hold.",
      quantity = "temperature", unit = "C", low = -40, high = 160,
      perishable = before ~= nil, holds = { job.warm_c, 160 },
    }
    if now < job.warm_c then
      job:tell(("%s is not warm yet: let it come to %s."):format(shown(now), shown(job.warm_c)))
      before = nil
    elseif before and math.abs(now - before) <= 3 then
      job.at.steady_c = now
      return
    else
      job:tell(before
        and ("Still moving by more than %s: wait a few minutes and read again."):format(
          job:shown_change("temperature", 3, "C"))
        or "Now wait some minutes, and read it again.")
      before = now
    end
  end
end

-- Idle speed as wanted, within 5 %. Asked again after every start.
function prepare.set_idle(job)
  if not job.at.idle_rpm then
    job.at.idle_rpm = job:number {
      key = "idle.wanted", title = "Idle speed wanted", text = "The idle speed that this engine is to have.",
      why = "Airflow at idle goes with idle speed: all passes are taken at the same one.",
      quantity = "engine-speed", unit = "rpm", low = 300, high = 3000,
    }
  end
  local wanted = job.at.idle_rpm
  local function shown(speed_rpm) return job:shown("engine-speed", speed_rpm, "rpm") end
  while true do
    local now = job:number {
      key = "idle.now", title = "Idle speed", perishable = true, hands = true, holds = { 0.95 * wanted, 1.05 * wanted },
      text = ("Set %s by %s, let it settle, type what it runs at."):format(shown(wanted), job.idle_by),
      why = "Use what moves all throttles alike. What moves one alone would undo the balance.",
      quantity = "engine-speed", unit = "rpm", low = 100, high = 6000,
    }
    if math.abs(now - wanted) <= 0.05 * wanted then
      job.at.idle_set_rpm = now
      return
    end
    job:tell(("%s is more than 5 %% off the wanted %s: set it again."):format(shown(now), shown(wanted)))
  end
end

local function choose_vent(job)
  local gauge = fields.known("gauge")
  job:must {
    key = "gauge.vent", title = "Gauge vent",
    text = ("Hold the gauge on bore %s. With this vent setting, does it read between %g and %g %s?"):format(
      fields.bores(job)[1], gauge.best[1], gauge.best[2], gauge.unit),
    why = "There the scale is finest. Mark how the vent stands: from now on, moving it moves every reading.",
    otherwise = "Open or close the vent until it does, then leave it there.",
  }
end

function prepare.prepare(job)
  job:stage "Before the engine runs"
  job:baseline()
  for _, check in ipairs(cold_checks) do job:must(check) end
  settle_gauge(job)
  job:stage "Warm-up"
  job:start_engine()
  job:warm()
  job:set_idle()
  choose_vent(job)
end

return prepare
