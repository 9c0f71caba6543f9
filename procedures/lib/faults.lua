-- What does not look like an imbalance: said, checked by the tuner, and never balanced away in silence.
-- Each check is asked once; what was found sound is believed.

local fields = require "fields"

local faults = {}

-- What was read counts while the engine is no further from where it was steady; this project's own.
local MOST_WARMED_C = 2

-- All that the readings show now, by kind: leak, sticking, loose, lash, wander, warming, band, vent, swapped.
function faults.find()
  local found = {}
  for _, one in ipairs(core.request { op = "findings" }.findings) do
    if not found[one.kind] or one.sure then found[one.kind] = one end
  end
  return found
end

local function percent(size)
  return ("%.0f %%"):format(math.abs(size) * 100)
end

local function say(job, text)
  core.request { op = "tell", kind = "finding", text = text, stage = job.at.stage }
end

local function strike(since, bores, why)
  core.request { op = "strike", since = since, bores = bores, why = why }
end

local function bores_of(one)
  local last = #one.bores
  if last < 3 then return (last == 1 and "bore " or "bores ") .. table.concat(one.bores, " and ") end
  return ("bores %s and %s"):format(table.concat(one.bores, ", ", 1, last - 1), one.bores[last])
end

local function name_of(job, one)
  if one.adjuster then return "the " .. job.adjusters[one.adjuster].layout.title end
  return bores_of(one)
end

local function at_start(text)
  return text:sub(1, 1):upper() .. text:sub(2)
end

-- Whether a check is still to be asked; what it is about is the fault and its part.
local function is_new(job, one)
  local about = one.kind .. "." .. (one.adjuster or table.concat(one.bores, "."))
  local new = not job.at.checked[about]
  job.at.checked[about] = true
  return new
end

-- Engine off for the mending, then as after every start.
local function mend_stopped(job, key, text)
  job:stop_engine "Switch it off: this is mended on a standing engine."
  job:must {
    key = key, title = "Mended", text = text, hands = true,
    otherwise = "Take the time. What is not mended comes back after every correction.",
  }
  job:start_engine()
  job:warm()
  job:set_idle()
end

local function read_pressed(job, bore)
  return job:read(bore, "Press the stack down, cover its clamp slit by hand, and read it so.", true)
end

-- One stack pressed on by hand: false air at its clamp is gone meanwhile, an imbalance is not.
-- A rise that one reading may make by chance is looked at twice.
local function rises(job, bore, before)
  local pressed = read_pressed(job, bore)
  if not pressed or pressed < 1.06 * before then return end
  local off = job:read(bore, "Hands off the stack: read it once more as it is.")
  local on = off and read_pressed(job, bore)
  if on and pressed + on > 1.06 * (before + off) then return 0.5 * (pressed + on), 0.5 * (before + off) end
end

-- Each bore's clamp is tried once, beside its reading `before`. Gives whether it leaked.
local function try_clamp(job, bore, before)
  if not before or not is_new(job, { kind = "leak", bores = { bore } }) then return false end
  local pressed, as_it_is = rises(job, bore, before)
  if not pressed then return false end
  strike("ever", { bore }, "leak at the clamp")
  say(job, ("Bore %s reads %g for %g with the stack pressed on: a leak, no imbalance. What was read there is void.")
    :format(bore, pressed, as_it_is))
  local choice = job:choose {
    key = "fault.leak." .. bore, title = ("Bore %s leaks"):format(bore), text = "Seal its clamp. What now?",
    options = {
      { id = "leak-sealed", text = "sealed: read it again" },
      { id = "leave-out", text = "leave it out of the balance, and say so in the record" },
    },
  }
  if choice == "leave-out" then
    job:leave_out(bore, "leak at its clamp")
  else
    job:read(bore, "Clamp sealed, hands off: read it again.")
  end
  return true
end

local function leak(job, one)
  local bore = one.bores[1]
  local before = fields.known("readings")[bore]
  if not before or job.at.checked["leak." .. bore] then return false end
  say(job, ("Bore %s alone reads %s less than its neighbours let expect. Air may come in at its clamp, past the gauge.")
    :format(bore, percent(one.size)))
  if not try_clamp(job, bore, before) then
    job:tell(("Bore %s: no leak found. It truly gets less air."):format(bore))
  end
  return false
end

-- The bores that turn with this one: the smallest side of several that it is on, else all.
local function shaft_of(job, bore)
  local shaft = fields.bores(job)
  for _, adjuster in pairs(job.adjusters) do
    for _, side in ipairs(adjuster.layout.sides) do
      local holds = false
      for _, one in ipairs(side) do holds = holds or tostring(one) == bore end
      if holds and #side > 1 and #side < #shaft then shaft = side end
    end
  end
  return shaft
end

local function lowest(job, bores)
  local readings = fields.known("readings")
  local low
  for _, bore in ipairs(bores) do
    local one = tostring(bore)
    if readings[one] and not job.at.left_out[one] and (not low or readings[one] < readings[low]) then low = one end
  end
  return low
end

-- The bores that a plan raises alone, or lowers its neighbours to: each may be one that only seems to get less air.
local function suspects(job, moves)
  local bores = {}
  for _, move in ipairs(moves) do
    local sides = job.adjusters[move.adjuster].layout.sides
    local up, down = sides[1], sides[2]
    if move.move < 0 then up, down = down, up end
    if up and #up == 1 then
      table.insert(bores, tostring(up[1]))
    elseif down and #down == 1 then
      table.insert(bores, lowest(job, shaft_of(job, tostring(down[1]))))
    end
  end
  return bores
end

-- Before a single bore is moved: a hand on its stack costs a reading, a plate that was opened for a leak a stop, and
-- it lies about the engine. Gives true where one was found, and the plan is void.
function faults.press(job, moves)
  local found, readings = false, fields.known("readings")
  for _, bore in ipairs(suspects(job, moves)) do
    if not job.at.left_out[bore] then found = try_clamp(job, bore, readings[bore]) or found end
  end
  return found
end

local function read_both(job, one, text)
  for _, bore in ipairs(one.bores) do job:read(bore, text) end
end

-- Where it may be so, both bores are read once more, and the readings settle it. Gives whether anything was read.
local function swapped(job, one)
  local again = "Once more, as before: was it typed for its neighbour?"
  if not one.sure then
    if not is_new(job, { kind = "maybe-swapped", bores = one.bores }) then return false end
    job:tell(("Bores %s would fit better the other way round in pass %d. Both are read once more."):format(
      table.concat(one.bores, " and "), one.pass))
    read_both(job, one, again)
    one = faults.find().swapped
    if not one or not one.sure then return true end
  end
  if not is_new(job, one) then return false end
  say(job, ("Bores %s were typed for one another in pass %d: those two readings are void."):format(
    table.concat(one.bores, " and "), one.pass))
  core.request { op = "strike", since = "pass", pass = one.pass, bores = one.bores, why = "typed for one another" }
  read_both(job, one, again)
  return true
end

-- Among readings outside a pass. Gives whether there are new ones.
function faults.swaps(job)
  local one = faults.find().swapped
  return one ~= nil and swapped(job, one)
end

local function vent(job, one)
  if one.stayed or not is_new(job, one) then return false end
  say(job, ("From between bore %s and bore %s on, all readings are off by %s at once."):format(
    one.after, one.before, percent(one.size)))
  local choice = job:choose {
    key = "fault.vent", title = "All readings moved at once", text = "What was it?",
    why = "A vent or an idle stop that is moved in the middle of a pass looks like a difference between bores.",
    options = {
      { id = "nothing", text = "nothing was touched: the readings stand" },
      { id = "vent-moved", text = "vent, hose or idle was moved: go round again" },
    },
  }
  if choice == "nothing" then return false end
  strike("pass", nil, "vent or idle moved in the pass")
  job:period("vent or idle moved in the pass")
  return true
end

local function wander(job, one)
  if not is_new(job, one) then return false end
  say(job, ("Readings of the same bore scatter %.1f times as much as this gauge does: that is not the gauge alone."):
    format(one.size))
  local choice = job:choose {
    key = "fault.wander", title = "Readings wander", text = "Watch the idle speed. Does it hunt?",
    why = "An idle that hunts moves all bores up and down while you go round.",
    options = {
      { id = "steady", text = "steady: go on, more readings will be needed" },
      { id = "wander-mended", text = "it hunted, and is steady now: go round again" },
    },
  }
  if choice == "steady" then return false end
  strike("start", nil, "the idle hunted")
  return true
end

local function what_changed(job)
  return job:choose {
    key = "fault.still", title = "Not as it was set", text = "What is it?",
    why = "The readings since the engine's start, or since the idle was set, do not go together: they are taken anew.",
    options = {
      { id = "idle-moved", text = "it idles elsewhere, but steadily" },
      { id = "wander-mended", text = "the idle hunts: found, and steady now" },
      { id = "vent-moved", text = "vent or hose was moved: marked anew" },
      { id = "leave", text = "it cannot be steadied now: go on as it is" },
    },
  }
end

local changes = {
  ["idle-moved"] = "the idle has moved", ["wander-mended"] = "the idle hunted", ["vent-moved"] = "the vent was moved",
}

-- The temperature against that at which the engine was steady last: a slow engine still grows while one goes round it.
local function has_warmed(job)
  local before = job.at.steady_c
  if not before then return false end
  local now = job:number {
    key = "warm.still", title = "Temperature now",
    text = ("The same thermometer, the same place, %s before: what does it read now?"):format(
      job:shown("temperature", before, "C")),
    why = "Link and manifold grow apart as they warm: what was read at another temperature is of another engine.",
    quantity = "temperature", unit = "C", low = -40, high = 160,
  }
  if math.abs(now - before) <= MOST_WARMED_C then return false end
  job:tell(("Moved by more than %s since it was steady: what was read since is void."):format(
    job:shown_change("temperature", MOST_WARMED_C, "C")))
  strike("start", nil, "still warming")
  job:warm()
  job:set_idle()
  job:period "warm and steady again"
  return true
end

-- Before readings are acted on: a hunting idle and a touched vent move them all, and eyes see that before a gauge that
-- repeats to a few per cent does. Gives true where the bores are to be gone round again. Before the job `ends` the
-- temperature is looked at too: a correction is measured anyhow, a claim is not.
function faults.watch(job, ends)
  if job.at.watched or not job.at.idle_set_rpm then return false end
  job.at.watched = true
  if ends and has_warmed(job) then return true end
  if job.at.unsteady or job:confirm {
    key = "still", title = "Still as it was set",
    text = ("Does it still idle within 3 %% of %s, not hunting, and does the gauge's vent stand at its mark?"):format(
      job:shown("engine-speed", job.at.idle_set_rpm, "rpm")),
    why = "Whatever moves all readings on the way round looks like a difference between bores. A look finds it sooner.",
  } then return false end
  local choice = what_changed(job)
  if choice == "leave" then
    job.at.unsteady = true
    job:tell "More readings will be needed, and what scatters makes the claim wider. This is not asked again."
    return false
  end
  strike("start", nil, changes[choice])
  if choice ~= "vent-moved" then job:set_idle() end
  job:period(changes[choice])
  return true
end

local parts = {
  sticking = "%s reads %s off after a snap of the throttle, and not the same way twice: does it stick?",
  loose = "%s is off by %s after a snap of the throttle, with no move made: is a clamp or coupler loose?",
  lash = "%s: one side against the other is off by %s after a snap of the throttle: is there lash in it?",
}
local parts_over_starts = {
  sticking = "%s stands elsewhere after each start, %.1f times what moves and gauge explain: does it stick?",
  loose = "%s never answers twice alike, %.1f times what is usual: is its clamp loose?",
  lash = "%s stands elsewhere after each start, %.1f times what is usual: is there lash in it?",
}

local function what_was_it(job, one)
  return job:choose {
    key = "fault." .. one.kind, title = "What was it?",
    text = ("Engine idling, hands clear: watch %s while somebody snaps the throttle."):format(name_of(job, one)),
    why = "What does not come back to its place cannot be balanced: each correction would be undone by the next snap.",
    options = {
      { id = "sound", text = "it comes back to its place: go on" },
      { id = "stick", text = "a plate or shaft sticks: free it" },
      { id = "loose-coupler", text = "a clamp or coupler is loose: tighten it" },
      { id = "lash", text = "lash in the linkage: take it out" },
      { id = "leave", text = "it cannot be mended now: leave it as it is" },
    },
  }
end

-- What cannot be mended is not worked with: a bore is left out, an adjuster is not used.
local function leave(job, one)
  if one.adjuster then
    table.insert(job.at.without, one.adjuster)
    job:tell(("The %s is not used any more in this job."):format(job.adjusters[one.adjuster].layout.title))
    job.at.stands = name_of(job, one)
    return false
  end
  for _, bore in ipairs(one.bores) do
    job:leave_out(bore, "its plate sticks")
  end
  return false
end

local function part(job, one)
  if not one.sure or one.stayed or not is_new(job, one) then return false end
  local name = at_start(name_of(job, one))
  if one.pushed then
    say(job, ("%s: %s more with the shaft pushed open than pushed shut. Friction, or play?"):format(
      at_start(bores_of(one)), percent(one.size)))
  elseif one.doubt > 0 then
    say(job, parts[one.kind]:format(name, percent(one.size)))
  else
    say(job, parts_over_starts[one.kind]:format(name, one.size))
  end
  local choice = what_was_it(job, one)
  if choice == "sound" then return false end
  if choice == "leave" then return leave(job, one) end
  strike("ever", one.bores, one.kind)
  mend_stopped(job, "fault.mended", "Mended, and the throttle snaps back to the same place each time?")
  return true
end

-- Runs the checks that the findings want. Gives true where the bores are to be gone round again.
function faults.mend(job, found)
  local again = false
  for _, check in ipairs {
    { "sticking", part }, { "loose", part }, { "lash", part }, { "wander", wander },
    { "vent", vent }, { "leak", leak },
  } do
    local one = found[check[1]]
    if one and not again then again = check[2](job, one) end
  end
  if not again and found.warming then again = faults.drifts(job, found) end
  if not again and found.swapped then swapped(job, found.swapped) end
  return again
end

-- Still growing: let it get warm and steady again. Gives whether that was it.
function faults.drifts(job, found)
  local one = found.warming
  if not one then return false end
  say(job, one.adjuster
    and ("One side drifts against the other by %s in a pass: the engine still grows as it warms."):format(
      percent(one.size))
    or ("All readings drift the same way, by %s in a pass: the engine still warms."):format(percent(one.size)))
  strike("start", nil, "still warming")
  job.at.steady_c = nil
  job:warm()
  job:set_idle()
  job:period("warm and steady again")
  return true
end

-- Readings outside the band of best resolution are coarse: the vent can bring them in. Gives false after a change.
function faults.vent_kept(job, found)
  local one = found.band
  if not one or job.at.vent_kept then return true end
  local gauge = fields.known("gauge")
  local change = job:confirm {
    key = "gauge.vent.change", title = "Gauge outside its best band",
    text = ("%s of the readings lie outside %g to %g %s. Change the vent and go round again?"):format(
      percent(one.size), gauge.best[1], gauge.best[2], gauge.unit),
    why = "Outside that band a division is a large step. The doubt of each reading grows with it.",
  }
  if change then job:period("vent changed") else job.at.vent_kept = true end
  return not change
end

local function snap_throttle(job, text)
  job:must {
    key = "snap.throttle", title = "Snap the throttle", snaps = true, text = text,
    why = "What sticks, or has play, comes to rest elsewhere: that is found now, not balanced away and undone later.",
    otherwise = "It is only a short blip; clear of the stacks, it can be done from the pedal.",
  }
end

local function snap_once(job, bores, text)
  snap_throttle(job, text)
  for _, bore in ipairs(bores) do
    job:read(bore, "As before: has the snap moved it?")
  end
  return faults.find()
end

-- After the job's first pass: one bore of each shaft is read again after a snap; where one has moved, after another.
-- Gives true where the bores are to be gone round again.
function faults.snap(job)
  if job.at.snapped then return false end
  job.at.snapped = true
  local bores = core.request { op = "snap_bores" }.bores
  local found = snap_once(job, bores, "Snap the throttle open once and let it shut. Idle settled again?")
  local one = found.sticking or found.loose or found.lash
  if one then
    found = snap_once(job, bores, "Once more, as before: one reading has moved. Snapped, and settled?")
    one = found.sticking or found.loose or found.lash
    if one and one.stayed then
      job:tell(("%s came to rest elsewhere once, and stays there: the readings before the snap do not count."):format(
        name_of(job, one)))
      strike("ever", one.bores, "came free at a snap")
      for _, bore in ipairs(one.bores) do job:read(bore, "Once more, now that it has come free.") end
      return false
    end
  end
  return faults.mend(job, found)
end

local function push(job, bores)
  for _, bore in ipairs(bores) do
    if job:read(bore, "Push its shaft lightly open, as far as it has play, and hold: gauge on, needle settled.",
      nil, "open") then
      job:read(bore, "Gauge kept on: push the shaft lightly shut, press the stack down, cover its slit, and read.",
        true, "shut")
    end
  end
end

-- It was tried before, or never looked low enough to be.
local function leaks_after_all(job, bore)
  job.at.checked["leak." .. bore] = nil
  return try_clamp(job, bore, job:read(bore, "Hands off the stack: read it once more as it is."))
end

-- What the pushes show, and nothing else: a snap or a start before them may have left a doubt of its own.
local function felt()
  for _, one in ipairs(core.request { op = "findings" }.findings) do
    if one.pushed then return one end
  end
end

-- Before the job's end: whatever sticks, is loose or has lash is elsewhere after the next snap, and the claim with it.
-- A finger on each shaft takes it from one end of its play to the other. What is not clear is pushed once more. At the
-- second push the stack is pressed on too: play reads more at the first, a leak more at the second.
-- Gives true where the bores are to be gone round again.
function faults.prove(job)
  if job.at.proved then return false end
  job:stage "Prove"
  snap_throttle(job, "Snap the throttle open once and let it shut. Idle settled again?")
  local most = 16
  local bores = fields.bores(job)
  while #bores > 0 and most > 0 do
    most = most - 1
    push(job, bores)
    local one = felt()
    if one and one.kind == "leak" and leaks_after_all(job, one.bores[1]) then return false end
    if one and one.sure and part(job, one) then return true end
    bores = one and not one.sure and one.bores or {}
  end
  job.at.proved = true
  return false
end

-- Play that was left as it is takes its bores elsewhere at each snap: no reading says where they will be.
function faults.conclude(job)
  if not job.at.stands then return end
  job:tell { kind = "caution", text = ("What stands in the way of a claim: play at %s, left as it is."):format(
    job.at.stands) }
  strike("ever", nil, "play that was left as it is")
end

return faults
