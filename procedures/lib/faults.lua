-- What does not look like an imbalance: said, checked by the tuner, and never balanced away in silence.
-- Each check is asked once; what was found sound is believed.

local faults = {}

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

local function name_of(job, one)
  if one.adjuster then return "the " .. job.adjusters[one.adjuster].layout.title end
  return (#one.bores == 1 and "bore " or "bores ") .. table.concat(one.bores, " and ")
end

-- Whether a check is still to be asked; what it is about is the fault and its part.
local function is_new(job, one)
  job.at.checked = job.at.checked or {}
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

-- One stack pressed on by hand: false air at its clamp is gone meanwhile, an imbalance is not.
local function leak(job, one)
  local bore = one.bores[1]
  local before = job:state().readings[bore]
  if not before or not is_new(job, one) then return false end
  say(job, ("Bore %s alone reads %s less than its neighbours let expect. Air may come in at its clamp, past the gauge.")
    :format(bore, percent(one.size)))
  local pressed = job:read(bore, "Press the stack down, cover its clamp slit by hand, and read it so.", true)
  if not pressed then return false end
  if pressed < before * (1 + math.abs(one.size) / 2) then
    job:tell(("Bore %s reads as before: no leak. It truly gets less air."):format(bore))
    return false
  end
  strike("ever", { bore }, "leak at the clamp")
  say(job, ("It reads %g for %g with the stack pressed on: a leak, no imbalance. Its readings so far do not count.")
    :format(pressed, before))
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
  return false
end

local function swapped(job, one)
  local a, b = one.bores[1], one.bores[2]
  say(job, ("Bores %s and %s look as if each was typed for the other. Both are read once more."):format(a, b))
  strike("pass", one.bores, "typed for one another")
  job:read(a, "Once more: its reading looked like its neighbour's.")
  job:read(b, "Once more: its reading looked like its neighbour's.")
  return false
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
    return false
  end
  for _, bore in ipairs(one.bores) do
    job:leave_out(bore, "its plate sticks")
  end
  return false
end

local function part(job, one)
  if not one.sure or one.stayed or not is_new(job, one) then return false end
  local name = name_of(job, one)
  name = name:sub(1, 1):upper() .. name:sub(2)
  local text = one.doubt > 0 and parts[one.kind]:format(name, percent(one.size))
    or parts_over_starts[one.kind]:format(name, one.size)
  say(job, text)
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
    { "vent", vent }, { "swapped", swapped }, { "leak", leak },
  } do
    local one = found[check[1]]
    if one and not again then again = check[2](job, one) end
  end
  if not again and found.warming then again = faults.drifts(job, found) end
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
  local gauge = job:state().gauge
  local change = job:confirm {
    key = "gauge.vent.change", title = "Gauge outside its best band",
    text = ("%s of the readings lie outside %g to %g %s. Change the vent and go round again?"):format(
      percent(one.size), gauge.best[1], gauge.best[2], gauge.unit),
    why = "Outside that band a division is a large step. The doubt of each reading grows with it.",
  }
  if change then job:period("vent changed") else job.at.vent_kept = true end
  return not change
end

local function snap_once(job, bores, text)
  job:must {
    key = "snap.throttle", title = "Snap the throttle", snaps = true, text = text,
    why = "What sticks, or has play, comes to rest elsewhere: that is found now, not balanced away and undone later.",
    otherwise = "It is only a short blip; clear of the stacks, it can be done from the pedal.",
  }
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

return faults
