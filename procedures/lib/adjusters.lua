-- The kinds of adjuster: what each costs, how it is worked, what has to come off for it.
-- Efforts are minutes of one use, spreads are what is usual before any work: this project's own figures.

local fields = require "fields"

local kinds = {
  link = {
    title = "cross link", joins = true, effort = 4, stopped = true, spread = 0.10,
    how = "Mark both lock nuts, slacken them, turn the link's body, tighten, check that nothing binds.",
  },
  coupler = {
    title = "coupler", joins = true, effort = 6, stopped = true, spread = 0.08,
    how = "Mark the coupler, slacken its clamp, twist one shaft against the other by a hair, tighten.",
  },
  screw = {
    title = "balance screw", effort = 2, stopped = false, spread = 0.08,
    how = "Mark the slot, turn a little, blip the throttle once, let it settle.",
    -- Without a second side it is the stop of its bores.
    alone = {
      title = "stop screw",
      how = "Mark the slot, slacken the lock nut, turn a little, tighten, blip the throttle once, let it settle.",
    },
  },
  bleed = {
    title = "air bleed", effort = 1, stopped = false, spread = 0.05,
    how = "Note the turns out first. A bleed trims air at idle only: never use it for a fuel fault.",
  },
  plate = {
    title = "plate", effort = 15, stopped = true, spread = 0.05,
    takes_off = { "return spring", "stack of bore %s" },
    how = "Soft jaws only. Mark which way the bevel faces, move the plate on its shaft by the least that shows.",
  },
}

local function listed(side)
  local names = {}
  for i, bore in ipairs(side) do names[i] = tostring(bore) end
  return table.concat(names, ", ")
end

local function usual_of(kind, given)
  local usual = {}
  for name, value in pairs(kinds[kind] or {}) do usual[name] = value end
  for name, value in pairs(given[3] == nil and usual.alone or {}) do usual[name] = value end
  return usual
end

-- "plate of bore 7" where it is for one bore alone; the author's title comes first.
local function title_of(usual, given)
  if given.title then return given.title end
  if usual.title and #given[2] == 1 and not given[3] then
    return usual.title .. " of bore " .. listed(given[2])
  end
  return usual.title or given[1]
end

-- What comes off for it; a stack is that of its bore.
local function parts_of(usual, given)
  if given.takes_off then return given.takes_off end
  local parts = {}
  for i, part in ipairs(usual.takes_off or {}) do parts[i] = part:format(listed(given[2])) end
  return parts
end

local function check_side(kind, given, index, place)
  local side = given[index]
  if type(side) ~= "table" then
    core.fail(("%s: side %d is to be a list of bores, such as { 1, 3 }"):format(kind, index - 1), place)
  end
end

local new = core.class("adjuster", {})

local function make(kind, given, place)
  fields.check(kind, given, "adjuster", place)
  local usual = usual_of(kind, given)
  if type(given[1]) ~= "string" then
    core.fail(("%s: the first entry is its id, a text: %s { \"left\", { 1, 3 }, { 5, 7 } }"):format(kind, kind), place)
  end
  check_side(kind, given, 2, place)
  if given[3] ~= nil then check_side(kind, given, 3, place) end
  if given[3] == nil and usual.joins then
    core.fail(("%s %q joins two sides; write %s { %q, { 1, 3 }, { 2, 4 } }"):format(kind, given[1], kind, given[1]),
      place)
  end
  if given[4] ~= nil then
    core.fail(("%s %q: there are two sides at most; what is the fourth entry?"):format(kind, given[1]), place)
  end
  local function pick(name)
    if given[name] ~= nil then return given[name] end
    return usual[name]
  end
  return new {
    layout = {
      id = given[1], kind = kind, title = title_of(usual, given),
      sides = { core.array(given[2]), given[3] and core.array(given[3]) },
      effort = pick("effort"), stopped = pick("stopped"),
      gain = given.gain, gain_spread = given.gain_spread, spread = pick("spread"), at = place,
    },
    takes_off = parts_of(usual, given),
    how = pick("how") or "Mark where it stands, then move it a little.",
  }
end

local exported = {}
for kind in pairs(kinds) do
  exported[kind] = function(given) return make(kind, given, core.where()) end
end

-- plates(rows): one plate for each bore of the rows, for the list of adjusters.
exported.plates = function(rows)
  local place = core.where()
  local list = {}
  fields.list("plates", rows, place)
  for _, row in ipairs(rows) do
    fields.list("plates: a row", row, place)
    for _, bore in ipairs(row) do
      table.insert(list, make("plate", { "plate-" .. tostring(bore), { bore } }, place))
    end
  end
  return list
end

-- A kind of the shop's own: adjuster { "id", {1}, {2}, kind = "wedge", effort = 3, stopped = true }.
exported.adjuster = function(given)
  local place = core.where()
  fields.check("adjuster", given, "adjuster", place)
  fields.text("adjuster", given, "kind", place)
  return make(given.kind, given, place)
end

return exported
