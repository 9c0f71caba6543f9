-- Pass, verdict, plan, adjust, until the claim holds or nothing more is worth doing.

local faults = require "faults"

local balance = {}

-- job:plan() gives the next step and its reason, and shows it. Options: one_at_a_time, method, least_move, without (a
-- list of adjusters that are not to be used, besides those that the tuner left alone).
function balance.plan(job, options)
  local request = { op = "plan" }
  for _, list in ipairs { job.options, options or {} } do
    for name, value in pairs(list) do request[name] = value end
  end
  local without = {}
  for _, list in ipairs { request.without or {}, job.at.without } do
    for _, adjuster in ipairs(list) do without[#without + 1] = adjuster end
  end
  request.without = #without > 0 and without or nil
  local plan = core.request(request)
  core.request { op = "tell", kind = "plan", text = plan.reason, stage = job.at.stage }
  return plan
end

-- The parts that are not among others.
local function besides(parts, others)
  local listed, rest = {}, {}
  for _, part in ipairs(others or {}) do listed[part] = true end
  for _, part in ipairs(parts) do
    if not listed[part] then table.insert(rest, part) end
  end
  return rest
end

-- Puts one adjuster's move to the tuner; gives whether it was done, and why not. `off` are parts that the move before
-- it left off, `stay` those that the next one wants off.
function balance.move(job, move, off, stay)
  local adjuster = job.adjusters[move.adjuster]
  if not adjuster then
    core.fail(("there is no adjuster %q in this layout"):format(tostring(move.adjuster)))
  end
  local title = adjuster.layout.title
  job:take_off(besides(adjuster.takes_off, off))
  local answer = core.request {
    op = "ask", kind = "adjust", adjuster = move.adjuster, move = move.move, amount = move.amount,
    key = "adjust." .. move.adjuster, stage = job.at.stage,
    title = "Move the " .. title,
    text = adjuster.how,
    why = "Make a mark first and keep the move small: one small, known move is planned, and what it did is measured.",
  }.value
  job:refit(besides(adjuster.takes_off, stay))
  return answer.done, answer.why
end

local function needs_stop(job, moves)
  for _, move in ipairs(moves) do
    if job.adjusters[move.adjuster].layout.stopped then return true end
  end
  return false
end

-- The parts that come off for both of two moves; none without a second one.
local function shared(job, move, following)
  if not following then return {} end
  local parts = job.adjusters[move.adjuster].takes_off
  return besides(parts, besides(parts, job.adjusters[following.adjuster].takes_off))
end

-- Gives false where the tuner wants to end.
local function not_done(job, move, why)
  local title = job.adjusters[move.adjuster].layout.title
  local answer = job:choose {
    key = "notdone." .. move.adjuster, title = ("The %s was not moved"):format(title),
    text = ("You said: %s. What now?"):format(why),
    options = {
      { id = "mended", text = "it can be moved now: measure and plan again" },
      { id = "without", text = "leave it alone from now on: plan with the others" },
      { id = "end", text = "leave it: end with what can be claimed" },
    },
  }
  if answer == "without" then job.at.without[#job.at.without + 1] = move.adjuster end
  return answer ~= "end"
end

-- Makes the moves in their order, the engine stopped where one of them needs it.
-- Gives false where the tuner wants to end with what can be claimed.
function balance.adjust(job, moves)
  job:stage "Adjust"
  local stops = needs_stop(job, moves)
  if stops then job:stop_engine() end
  local go_on = true
  local off = {}
  for i, move in ipairs(moves) do
    local stay = shared(job, move, moves[i + 1])
    local done, why = job:move(move, off, stay)
    off = stay
    if not done then go_on = not_done(job, move, why) and go_on end
  end
  if stops then
    job:start_engine()
    job:warm()
    job:set_idle()
  else
    -- What one bore gains the whole engine gains: idle is set again, and with it the gauge's level is new.
    job:set_idle()
    job:period "idle set again"
  end
  return go_on
end

-- Reads the named bores once more in the same running period.
function balance.read_again(job, bores)
  job:stage "Measure again"
  for _, bore in ipairs(bores) do
    job:read(bore, "Once more, as before: this reading decides whether it is within.")
  end
end

local function even_out(job)
  job:pass()
  while true do
    if not job:comparable() then
      job:tell "One bore alone cannot be evened: mend the others, then begin anew."
      return
    end
    local plan = job:explain()
    local ends = plan.step == "done" or plan.step == "stop"
    if ends and job.at.proved then
      if not faults.watch(job, true) then return end
      job:pass()
    elseif ends then
      if faults.prove(job) then job:pass() end
    elseif plan.step == "move" and faults.press(job, plan.moves) then
      job:tell "The plan rested on a leak: it is made anew."
    elseif plan.step == "read" then
      job:read_again(plan.read)
      faults.swaps(job)
    elseif faults.watch(job) then
      job:pass()
    else
      if not job:adjust(plan.moves) then return end
      job:pass()
    end
  end
end

function balance.balance(job)
  even_out(job)
  faults.conclude(job)
end

return balance
