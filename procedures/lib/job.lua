-- The job: what a procedure's run is given. One call is one prompt, or one routine of prompts.

local fields = require "fields"
local baseline = require "baseline"
local prepare = require "prepare"
local measure = require "measure"
local balance = require "balance"
local finish = require "finish"
local crosscheck = require "crosscheck"
local shown = require "shown"

local calls = {}

-- Where in the job the prompts that follow stand: "Warm-up".
function calls.stage(job, name)
  job.at.stage = name
end

local function ask(job, kind, given)
  local request = { op = "ask", kind = kind, stage = job.at.stage }
  for name, value in pairs(given) do request[name] = value end
  return core.request(request)
end

-- job:caution { key =, title =, text =, hazards = { ... }, critical =, applies = "running" or "stopped" }
-- is for what the usual cautions do not have: those the core asks by itself, before what they are about.
function calls.caution(job, given)
  ask(job, "caution", given)
end

-- job:confirm { key =, title =, text = } gives true or false. `hands = true`, here and in job:number: hands go to the
-- throttles for it, and the cautions for that come first.
function calls.confirm(job, given)
  return ask(job, "confirm", given).value
end

-- Asks until the answer is yes; `otherwise` says what is to be done first.
function calls.must(job, given)
  local otherwise = given.otherwise
  local question = {}
  for name, value in pairs(given) do
    if name ~= "otherwise" then question[name] = value end
  end
  while not job:confirm(question) do
    job:tell(otherwise)
  end
end

-- job:choose { key =, title =, text =, options = { { id =, text = }, ... } } gives the id.
function calls.choose(job, given)
  return ask(job, "choose", given).value
end

-- job:number { key =, title =, text =, quantity =, unit =, low =, high = } gives a number in that unit.
function calls.number(job, given)
  return ask(job, "number", given).value
end

-- job:line { key =, title =, text = } gives a text.
function calls.line(job, given)
  return ask(job, "text", given).value
end

-- job:tell "text", or job:tell { kind = "caution", text = }.
function calls.tell(job, given)
  if type(given) == "string" then given = { kind = "note", text = given } end
  fields.check("tell", given, "tell")
  core.request { op = "tell", kind = given.kind or "note", text = given.text, stage = job.at.stage }
end

-- job:take_off { "return spring" } writes down what comes off; the engine cannot be started until it is on again.
function calls.take_off(job, parts)
  for _, part in ipairs(parts) do
    job:must {
      key = "off." .. part, title = "Off: " .. part, takes_off = { part },
      text = ("Take off the %s, lay it where you will see it, and say when it is off."):format(part),
      why = "It stays on the list of open parts. The engine cannot be started while anything is on that list.",
      otherwise = ("Nothing goes on until the %s is off; pause or stop if it will not come off."):format(part),
    }
  end
end

function calls.refit(job, parts)
  for i = #parts, 1, -1 do
    local part = parts[i]
    job:must {
      key = "on." .. part, title = "Refit: " .. part, refits = { part },
      text = ("Refit the %s, check that it is secure, and say when it is on."):format(part),
      why = "It is on the list of open parts. The engine cannot be started while anything is on that list.",
      otherwise = ("The engine stays off until the %s is refitted."):format(part),
    }
  end
end

-- What has to be seen to before a start the core asks by itself, each time.
function calls.start_engine(job, text)
  if fields.known("engine") == "running" then return end
  core.request {
    op = "ask", kind = "engine", state = "running", key = "engine.running", stage = job.at.stage,
    title = "Start the engine", text = text or "Start it, let it come to idle, and say when it runs by itself.",
    why = "Readings are taken on a running engine. From each start the gauge's level counts as new.",
  }
end

function calls.stop_engine(job, text)
  if fields.known("engine") == "stopped" then return end
  core.request {
    op = "ask", kind = "engine", state = "stopped", key = "engine.stopped", stage = job.at.stage,
    title = "Engine off", text = text or "Switch it off, let everything come to rest, and say when it stands.",
    why = "Hands go near linkage and plates from here.",
  }
end

-- What the core knows: engine, open parts, layout, gauge, tolerance, readings.
function calls.state()
  return core.request { op = "state" }
end

-- The gauge's level or the idle speed was changed: readings before and after do not compare.
function calls.period(_, why)
  core.request { op = "period", why = why }
end

function calls.leave_out(job, bore, why)
  job.at.left_out[tostring(bore)] = true
  core.request { op = "leave_out", bore = tostring(bore), why = why }
end

-- What is known of the throttles: { bore_mm =, shaft_mm =, closed_deg =, pitch_mm =, lever_mm =,
-- unit = "mm" or "thou", idle = { ["1"] = { gap_mm = } or { travel_mm = } } }. Moves then come with amounts.
function calls.throttle(_, given)
  core.request { op = "throttle", throttle = given }
end

for _, routine in ipairs { baseline, prepare, measure, balance, finish, crosscheck, shown } do
  for name, call in pairs(routine) do calls[name] = call end
end

-- A call as authors have it: what it is given is checked by its rows first.
local checked = {}
for name, call in pairs(calls) do checked[name] = fields.checked("job:" .. name, call) end

local new = core.class("job", checked)

local function laid_over(under, over)
  local both = {}
  for _, list in ipairs { under or {}, over or {} } do
    for name, value in pairs(list) do both[name] = value end
  end
  return both
end

-- What the engine's own file says goes before what the procedure says of all such engines.
local function make(given, adjusters)
  local engine = fields.known("inputs").engine_file or {}
  return new {
    -- What changes as the job goes on; the rest stays as it was given.
    at = { stage = "Start", left_out = {}, without = {}, checked = {}, idle_rpm = engine.idle_rpm or given.idle_rpm },
    adjusters = adjusters,
    options = given.plan or {},
    throttles = laid_over(given.throttle, engine.throttle),
    cold_tolerance = given.cold_tolerance or 0.3,
    warm_c = engine.warm_c or given.warm_c or 75,
    idle_by = given.idle_by or "the common idle stop",
    held_rpm = engine.held_rpm or given.held_rpm or 2000,
  }
end

return { make = make, calls = checked }
