-- One reading, and one pass: a trip round all bores, closed at the first one.

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
function measure.read(job, bore, text)
  bore = tostring(bore)
  if job.at.left_out[bore] then return nil end
  while true do
    local reply = core.request {
      op = "ask", kind = "reading", bore = bore, key = "reading." .. bore, stage = job.at.stage,
      title = "Bore " .. bore, text = text or "Gauge square on the stack, eye level, needle settled.",
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
      job.at.left_out[bore] = true
      job:leave_out(bore, "nearly no air, or not readable")
      return nil
    end
  end
end

local function read_round(job)
  local first, outside, count
  for _, bore in ipairs(job:state().layout.bores) do
    local value, out = job:read(bore)
    if value then
      first = first or bore
      count, outside = (count or 0) + 1, (outside or 0) + (out and 1 or 0)
    end
  end
  if first then
    job:read(first, ("Bore %s again, to close the pass: has anything drifted?"):format(first))
  end
  return outside or 0, count or 0
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

-- Readings outside the band of best resolution are coarse: the vent can bring them in.
local function change_vent(job, outside, count)
  if outside * 2 <= count or job.at.vent_kept then return false end
  local gauge = job:state().gauge
  local change = job:confirm {
    key = "gauge.vent.change", title = "Gauge outside its best band",
    text = ("%d of %d readings lie outside %g to %g %s. Change the vent and go round again?"):format(
      outside, count, gauge.best[1], gauge.best[2], gauge.unit),
    why = "Outside that band a division is a large step. The doubt of each reading grows with it.",
  }
  if change then job:period("vent changed") else job.at.vent_kept = true end
  return change
end

-- job:pass() goes round all bores at idle; job:pass("part throttle") in another condition.
function measure.pass(job, condition)
  while true do
    local number = core.request { op = "pass", condition = condition or "idle" }.pass
    job:stage(("%s, pass %d"):format(condition and "Measure at " .. condition or "Measure", number))
    local outside, count = read_round(job)
    local closed = core.request { op = "close" }
    if not closed.accepted then
      still_moving(job, closed)
    elseif not change_vent(job, outside, count) then
      return
    end
  end
end

-- Evenness is about two bores or more: with fewer left in the balance there is no verdict to give.
function measure.comparable(job)
  local left = #job:state().layout.bores
  for _ in pairs(job.at.left_out) do left = left - 1 end
  return left >= 2
end

local function percent(share)
  return ("%.1f %%"):format(share * 100)
end

-- A claim is rounded up: it is never told better than it is.
local function claimed(verdict)
  return percent(math.ceil(verdict.claim * 1000 - 1e-6) / 1000)
end

-- "" or " but 5": a bore that was left out is not in the claim.
local function but_left_out(verdict)
  local out = {}
  for bore, of in pairs(verdict.bores) do
    if of.word == "left out" then table.insert(out, bore) end
  end
  return #out == 0 and "" or " but " .. table.concat(out, " and ")
end

-- job:verdict() gives what the readings prove so far, and shows it.
function measure.verdict(job)
  local verdict = core.request { op = "verdict" }
  local text
  if verdict.word == "even" then
    text = ("Even: every bore%s is within %s, at a risk of %s."):format(
      but_left_out(verdict), claimed(verdict), percent(verdict.risk))
  else
    text = ("%s: what can be claimed so far is %s, at a risk of %s; wanted is %s."):format(
      verdict.word == "uneven" and "Uneven" or "Not sure yet", claimed(verdict), percent(verdict.risk),
      percent(verdict.tolerance))
  end
  core.request { op = "tell", kind = "verdict", text = text, stage = job.at.stage }
  return verdict
end

return measure
