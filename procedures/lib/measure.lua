-- One reading, and one pass: a trip round all bores, closed at the first one.

local fields = require "fields"
local claim = require "claim"
local faults = require "faults"

local measure = {}

-- A bore that gives nearly nothing twice over is no imbalance: it is a fault, and stays out of the balance.
local function nearly_no_air(job, bore, value)
  job:tell(("Bore %s reads %g, twice the same: nearly no air. That is no imbalance. Look for a dead cylinder, " ..
    "a stuck valve, a plate that does not open, or a stack that leaks."):format(bore, value))
  return job:choose {
    key = "fault." .. bore, title = ("Bore %s draws nearly no air"):format(bore),
    text = "What now? Opening its throttle would not mend it.",
    options = {
      { id = "again", text = "found and mended: read it again" },
      { id = "leave-out", text = "leave it out of the balance, and say so in the record" },
    },
  }
end

local function unreadable(job, bore, why)
  return job:choose {
    key = "unreadable." .. bore, title = ("Bore %s cannot be read"):format(bore),
    text = ("You said: %s. What now?"):format(why),
    options = {
      { id = "again", text = "it can be read now" },
      { id = "leave-out", text = "leave it out of the balance, and say so in the record" },
    },
  }
end

-- job:read(bore) gives the reading, or nil where the bore was left out.
-- `pressed`: with the stack pressed on by hand; `pushed`: with a finger on its shaft, "open" or "shut".
function measure.read(job, bore, text, pressed, pushed)
  bore = tostring(bore)
  if job.at.left_out[bore] then return nil end
  job.at.watched = false
  while true do
    local reply = core.request {
      op = "ask", kind = "reading", bore = bore, pressed = pressed, pushed = pushed, stage = job.at.stage,
      running = true, -- where lengths were measured cold, the core would take one more of them
      key = "reading." .. bore, title = "Bore " .. bore,
      text = text or "Gauge square on the stack, eye level, needle settled.",
      why = "Hold it the same way each time. A reading that looks like a slip is asked twice, and both are kept.",
    }
    local value = reply.value
    local choice
    if type(value) == "table" then
      choice = unreadable(job, bore, value.unreadable)
    elseif reply.no_air then
      choice = nearly_no_air(job, bore, value)
    else
      return value, reply.outside_best
    end
    if choice == "leave-out" then
      job:leave_out(bore, "nearly no air, or not readable")
      return nil
    end
  end
end

local function read_round(job)
  local first
  for _, bore in ipairs(fields.bores(job)) do
    if job:read(bore) then first = first or bore end
  end
  if first then
    job:read(first, ("Bore %s again, to close the pass: has anything drifted?"):format(first))
  end
end

local function still_moving(job, closed)
  job:tell(("The first bore reads %.1f %% differently at the end of the pass than at its start; up to %.1f %% is " ..
    "taken. This pass does not count."):format(closed.change * 100, closed.limit * 100))
  job:must {
    key = "pass.steady", title = "Steady again",
    text = "Engine warm and steady, idle not hunting, vent not touched?",
    why = "An engine that still warms, or an idle that hunts, moves all readings while you go round.",
    otherwise = "Let it settle. A pass on a wandering engine finds an imbalance that is not there.",
  }
end

-- job:pass() goes round all bores at idle; job:pass("part throttle") in another condition.
-- What does not look like an imbalance is asked about before the pass counts; after the first one the throttle is
-- snapped, to see that it comes back to where it was.
function measure.pass(job, condition)
  local idle = condition == nil or condition == "idle"
  while true do
    local number = core.request { op = "pass", condition = condition or "idle" }.pass
    job:stage(("%s, pass %d"):format(idle and "Measure" or "Measure at " .. condition, number))
    read_round(job)
    local closed = core.request { op = "close" }
    local found = faults.find()
    if not closed.accepted then
      if not faults.drifts(job, found) then still_moving(job, closed) end
    elseif faults.vent_kept(job, found) and not (idle and faults.mend(job, found)) and
      not (idle and faults.snap(job)) then
      return
    end
  end
end

-- Evenness is about two bores or more: with fewer left in the balance there is no verdict to give.
function measure.comparable(job)
  local left = #fields.bores(job)
  for _ in pairs(job.at.left_out) do left = left - 1 end
  return left >= 2
end

-- "" or " but 5": a bore that was left out is not in the claim.
local function but_left_out(verdict)
  local out = {}
  for bore, of in pairs(verdict.bores) do
    if of.word == "left out" then table.insert(out, bore) end
  end
  return #out == 0 and "" or " but " .. table.concat(out, " and ")
end

local function tell_verdict(job, verdict)
  local text
  if verdict.word == "even" then
    text = ("Even: every bore%s is within %s, at a risk of %s."):format(
      but_left_out(verdict), claim.told(verdict), claim.percent(verdict.risk))
  else
    text = ("%s: what can be claimed so far is %s, at a risk of %s; wanted is %s."):format(
      verdict.word == "uneven" and "Uneven" or "Not sure yet", claim.told(verdict),
      claim.percent(verdict.risk), claim.percent(verdict.tolerance))
  end
  core.request { op = "tell", kind = "verdict", text = text, stage = job.at.stage }
end

-- job:verdict() gives what the readings prove so far, and shows it.
function measure.verdict(job)
  local verdict = core.request { op = "verdict" }
  tell_verdict(job, verdict)
  return verdict
end

local against = {
  side = "side against side", pair = "pair against pair", bore = "between the bores of a pair",
}

-- What most of the spread is, where that can be said of an uneven engine.
local function tell_most(job)
  local found = core.request { op = "explain" }.explanation
  local share = found.shares[found.most]
  if not share or share < 0.5 then return end
  local test = found.tests[found.most]
  core.request {
    op = "tell", kind = "explanation", stage = job.at.stage,
    text = ("Most of it (%.0f %%) is %s%s."):format(share * 100, against[found.most],
      test and test.p < 0.05 and found.repeats > 0 and ", beyond chance" or ""),
  }
end

-- job:explain() says in words what is uneven, how sure that is, what it consists of, and what is planned and why.
-- Gives the plan.
function measure.explain(job)
  local verdict = core.request { op = "verdict", brief = true }
  tell_verdict(job, verdict)
  if verdict.word == "uneven" then tell_most(job) end
  return job:plan()
end

return measure
