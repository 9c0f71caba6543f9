-- The mechanical baseline: engine off, the linkage looked at, each plate's place measured cold.
-- A feeler gap and an edge travel are two different lengths: what is measured as one is never compared with the other.

local claim = require "claim"
local fields = require "fields"

local baseline = {}

local checks = {
  {
    key = "cold.free", title = "Linkage free", hands = true,
    text = "Work the throttle through its whole travel by hand: free, no catch, snaps shut by itself?",
    why = "A throttle that sticks reads like an imbalance, and comes back after every correction.",
    otherwise = "Free the linkage and the shafts first: nothing that is measured on a sticking throttle holds.",
  },
  {
    key = "cold.ends", title = "Ends of travel", hands = true,
    text = "Do all plates reach closed together, and full open together?",
    why = "If one arrives early at either end, the linkage is bent or wrongly timed. No idle adjuster mends that.",
    otherwise = "Set the linkage so that both ends are reached together, then say so.",
  },
  {
    key = "cold.stop", title = "Idle stop and spring", hands = true,
    text = "Idle stop sound and locked, return spring sound and hooked in?",
    why = "All idle measurements rest on that stop. The spring is what shuts the engine down.",
    otherwise = "Mend the stop or the spring before anything else.",
  },
  {
    key = "cold.bevel", title = "Plates the right way round", hands = true,
    text = "Closed, does each plate lie on the bore all round, its bevel the way its maker means it?",
    why = "A plate that sits the wrong way round or off centre leaks at its edge and binds: no setting evens that.",
    otherwise = "Turn or centre that plate first: closed against the light, nothing may show at its edge.",
  },
}

local ways = {
  ["feeler-gap"] = {
    length = "feeler gap", title = "Feeler gap", field = "gap_mm", tool = "feeler set",
    text = "At the widest point, 90 degrees from the shaft: the thickest leaf that goes in. None goes in: 0.",
    marks = { low = 0.03, high = 1, step = 0.01 }, repeatability = 0.03,
  },
  ["edge-travel"] = {
    length = "edge travel", title = "Edge travel", field = "travel_mm", tool = "depth gauge or dial",
    text = "How far the plate's edge stands off its closed place, along the bore. Closed: 0.",
    marks = { low = 0.01, high = 10, step = 0.01 }, repeatability = 0.03,
  },
}

local function ask_length(job, key, title, text, low, high)
  return job:number {
    key = "cold." .. key, title = title, text = text, quantity = "length", unit = "mm", low = low, high = high,
  }
end

-- Edge travel and turns of a screw say little without the plate: how steep it stands closed decides what they give.
local function ask_plate(job, throttle)
  throttle.bore_mm = throttle.bore_mm or job:number {
    key = "plate.bore", title = "Throttle bore", text = "Inner diameter of the throttle bores, all alike.",
    quantity = "length", unit = "mm", low = 10, high = 200,
  }
  throttle.closed_deg = throttle.closed_deg or job:number {
    key = "plate.closed", title = "Closed angle",
    text = "Angle of a closed plate against the plane across the bore; often stamped on the plate.",
    quantity = "angle", unit = "deg", low = 0, high = 45,
  }
end

local function choose_way(job, required)
  local options = {
    { id = "feeler-gap", text = "feeler gap at the widest point: type it for each bore" },
    { id = "edge-travel", text = "edge travel along the bore: type it for each bore" },
  }
  if not required then
    table.insert(options, { id = "on-paper", text = "measured and written down elsewhere" })
  end
  return job:choose {
    key = "cold.baseline", title = "Plates measured cold",
    text = "How is each plate's place known?",
    why = "It is what you go back to when a correction goes wrong, what the next mechanic starts from, " ..
      "and what amounts are worked out from.",
    options = options,
  }
end

-- The marks of the tool as they usually are, or typed in.
local function settle_tool(job, way)
  local marks = way.marks
  local function shown(name) return job:shown("length", marks[name], "mm") end
  if job:confirm {
    key = "cold.tool", title = "The " .. way.tool,
    text = ("Does yours show from %s to %s, in steps of %s where it is fine?"):format(
      shown "low", shown "high", shown "step"),
    why = "How fine it shows decides how sure it is that one plate stands apart.",
  } then return marks end
  return {
    low = ask_length(job, "tool.low", "Least length", "The thinnest leaf, or the least that it shows.", 0.005, 2),
    high = ask_length(job, "tool.high", "Greatest length", "All leaves that fit together, or the end of the scale.",
      0.05, 50),
    step = ask_length(job, "tool.step", "Step", "The smallest difference that can be told with it.", 0.001, 0.5),
  }
end

-- Gives the marks that it was declared with.
local function declare(job, way, tolerance)
  local marks = settle_tool(job, way)
  local fit = fields.try(job, "These marks do not fit together", {
    op = "condition", name = "cold", engine = "stopped", quantity = "length", length = way.length,
    tolerance = tolerance,
    gauge = {
      low = marks.low, high = marks.high, step = marks.step, best = { marks.low, marks.high },
      repeatability = way.repeatability, unit = "mm",
    },
  })
  return fit and marks or declare(job, way, tolerance)
end

-- Keeps one plate's length; a plate that is shut, or cannot be reached, has none.
local function read_plate(job, found, bore, text)
  local way = found.way
  local reply = core.request {
    op = "ask", kind = "reading", bore = bore, key = "cold.plate." .. bore, stage = job.at.stage,
    title = ("%s, bore %s"):format(way.title, bore), text = text or way.text,
    why = "Let the linkage rest on its stop, opened and shut again the same way each time, then measure.",
  }
  found.shut[bore] = reply.no_air or nil
  found.length[bore] = nil
  if type(reply.value) == "table" then
    job:tell(("Bore %s is not measured: %s."):format(bore, reply.value.unreadable))
  elseif not reply.no_air then
    found.length[bore] = reply.value
  end
end

local function first_measured(found, bores)
  for _, bore in ipairs(bores) do
    if found.length[bore] then return bore end
  end
end

-- Once round, closed at the first plate that was measured: does the linkage come back to where it was?
-- False where it does not in three rounds: lengths on a linkage that wanders say nothing.
local function read_round(job, found, bores)
  for _ = 1, 3 do
    core.request { op = "pass", condition = "cold" }
    for _, bore in ipairs(bores) do read_plate(job, found, bore) end
    local first = first_measured(found, bores)
    if first then
      read_plate(job, found, first, ("Open the throttle, let it snap shut, then bore %s once more."):format(first))
    end
    if core.request({ op = "close" }).accepted then return true end
    job:tell(("Bore %s does not come back to where it was: free the linkage, take up its lash."):format(first))
  end
  job:tell "Three rounds, and it still wanders: mend the linkage first. These lengths are not used."
  return false
end

local function judge(job, found)
  local verdict = core.request { op = "verdict" }
  local text
  if verdict.word == "even" then
    text = ("Even, engine off: every plate's %s is within %s, at a risk of %s."):format(
      found.way.length, claim.told(verdict), claim.percent(verdict.risk))
  else
    text = ("Engine off, by %s: %s; %s, wanted is %s."):format(
      found.way.length, verdict.word == "uneven" and "uneven" or "not sure yet",
      verdict.claim < 1 and "what can be claimed is " .. claim.told(verdict) or "nothing can be claimed",
      claim.percent(verdict.tolerance))
  end
  core.request { op = "tell", kind = "verdict", text = text, stage = job.at.stage }
  return verdict
end

-- The part that sets one plate alone, or nil.
local function part_for(job, bore)
  for id, adjuster in pairs(job.adjusters) do
    local sides = adjuster.layout.sides
    if not sides[2] and #sides[1] == 1 and tostring(sides[1][1]) == bore then return id, adjuster end
  end
end

local function wants_it_set(job, found, bore, verdict)
  local target = job:shown("length", verdict.target, verdict.unit)
  local stands = found.shut[bore] and "is shut, or nearly"
    or ("stands at %s"):format(job:shown("length", found.length[bore], "mm"))
  return job:confirm {
    key = "cold.set." .. bore, title = ("Set the plate of bore %s"):format(bore),
    text = ("It %s; the middle one of all stands at %s. Set it to that now?"):format(stands, target),
    why = "A plate that stands apart cold is the first thing to mend: at idle its air stands apart by as much.",
  }
end

-- Which of them are to be set now, each with its part; the others stay as they are.
local function to_be_set(job, found, list, verdict)
  local work = {}
  for _, bore in ipairs(list) do
    local id, adjuster = part_for(job, bore)
    if not id then
      job:tell(("Bore %s stands apart, and no part here sets its plate alone. Note it; look at its linkage.")
        :format(bore))
    elseif wants_it_set(job, found, bore, verdict) then
      table.insert(work, { bore = bore, id = id, adjuster = adjuster })
    end
    found.left[bore] = not work[#work] or work[#work].bore ~= bore
  end
  return work
end

-- What comes off for all of them, each part once.
local function parts_for(work)
  local parts, known = {}, {}
  for _, one in ipairs(work) do
    for _, part in ipairs(one.adjuster.takes_off) do
      if not known[part] then table.insert(parts, part) end
      known[part] = true
    end
  end
  return parts
end

-- Sets plates in one go, and measures each anew once all is back on.
local function set_plates(job, found, list, verdict)
  local work = to_be_set(job, found, list, verdict)
  local parts = parts_for(work)
  job:take_off(parts)
  for _, one in ipairs(work) do
    one.done = core.request {
      op = "ask", kind = "adjust", condition = "cold", adjuster = one.id, key = "cold.adjust." .. one.id,
      stage = job.at.stage, title = "Set the " .. one.adjuster.layout.title, text = one.adjuster.how,
      why = "It is set to the length that the others have, and measured again once all is back on.",
    }.value.done
    found.left[one.bore] = not one.done
    found.tries[one.bore] = (found.tries[one.bore] or 0) + 1
  end
  job:refit(parts)
  for _, one in ipairs(work) do
    if one.done then read_plate(job, found, one.bore) end
  end
end

local function not_sure(found, bores, verdict)
  local list = {}
  for _, bore in ipairs(bores) do
    if verdict.bores[bore].word == "unsure" and found.length[bore] then table.insert(list, bore) end
  end
  return list
end

-- Whether a plate stands apart from the middle one by more than is wanted, and by more than one step of the tool.
-- The mean is no measure here: one plate far off moves it, and would make the good ones look uneven.
local function stands_apart(found, bore, verdict)
  local apart = verdict.bores[bore].apart
  if found.shut[bore] then return true end
  if not apart or not found.length[bore] or verdict.bores[bore].word ~= "uneven" then return false end
  local one_step = found.step / found.length[bore] * (1 + apart)
  return math.abs(apart) > math.max(verdict.tolerance, one_step)
end

-- Those that may still be set: what did not come right in three tries needs more than a tool.
local function apart(found, bores, verdict)
  local list = {}
  for _, bore in ipairs(bores) do
    if stands_apart(found, bore, verdict) and not found.left[bore] and (found.tries[bore] or 0) < 3 then
      table.insert(list, bore)
    end
  end
  return list
end

local function enough(found, bores)
  local count = 0
  for _, bore in ipairs(bores) do count = count + (found.length[bore] and 1 or 0) end
  return count >= 2
end

-- Reading again helps where readings scatter, not where the tool's step is as wide as what is wanted.
local function may_help(job, found, unsure, verdict)
  local length = found.length[unsure[1]]
  if #unsure == 0 or found.again then return false end
  found.again = true
  if found.step < length * verdict.tolerance then return true end
  job:tell(("One step of the tool is %.0f %% of these lengths: it cannot tell them apart any finer."):format(
    100 * found.step / length))
  return false
end

-- Sets what stands apart, reads once more what is not sure.
local function even_out(job, found, bores)
  while enough(found, bores) do
    local verdict = judge(job, found)
    local list = apart(found, bores, verdict)
    local unsure = not_sure(found, bores, verdict)
    if #list > 0 then
      set_plates(job, found, list, verdict)
    elseif may_help(job, found, unsure, verdict) then
      for _, bore in ipairs(unsure) do
        read_plate(job, found, bore, "Once more, as before: this one is not sure yet.")
      end
    else
      return
    end
  end
  job:tell("Fewer than two plates could be measured: there is nothing to compare.")
end

local function measure(job, way, tolerance)
  local throttle = { idle = {} }
  for name, value in pairs(job.throttles) do throttle[name] = value end
  if way.length == "edge travel" or throttle.pitch_mm then ask_plate(job, throttle) end
  job:throttle(throttle)
  local marks = declare(job, way, tolerance)
  local bores = fields.bores(job)
  local found = { way = way, step = marks.step, length = {}, shut = {}, left = {}, tries = {} }
  if not read_round(job, found, bores) then return end
  even_out(job, found, bores)
  for bore, length in pairs(found.length) do throttle.idle[bore] = { [way.field] = length } end
  job:throttle(throttle)
end

-- job:baseline() looks at linkage, stops and plates; job:baseline { required = true } wants the plates measured.
-- As a step of a job it sets only what is far off: the rest is evened at idle, side by side and pair by pair first.
function baseline.baseline(job, given)
  local required = given and given.required
  job:stop_engine "Engine off and cold enough to touch? Say when it stands."
  for _, check in ipairs(checks) do job:must(check) end
  local way = ways[choose_way(job, required)]
  if way then measure(job, way, not required and job.cold_tolerance or nil) end
end

return baseline
