-- What a procedure's file sees besides the language: `procedure`, the kinds of adjuster, numbering.

local fields = require "fields"
local adjusters = require "adjusters"
local numbering = require "numbering"
local options = require "options"
local jobs = require "job"

local function add_adjuster(list, made, i, place)
  if core.kind(made) ~= "adjuster" then
    core.fail(("layout: entry %s of adjusters is no adjuster; write link { ... }, coupler { ... } or another kind")
      :format(tostring(i)), core.where_field(place, "adjusters"))
  end
  table.insert(list, made)
end

-- The adjusters in order; an entry may be a list of them, as plates(rows) gives.
local function adjusters_of(given, place)
  local list = {}
  for i, entry in pairs(given.adjusters or {}) do
    if type(i) == "string" then
      add_adjuster(list, false, i, place)
    elseif type(entry) == "table" then
      for _, made in ipairs(entry) do add_adjuster(list, made, i, place) end
    else
      add_adjuster(list, entry, i, place)
    end
  end
  return list
end

-- The layout as the core wants it, and the adjusters by id.
local function layout_of(given, place)
  fields.check("layout", given, "layout", place)
  local list, found = core.array {}, {}
  for i, made in ipairs(adjusters_of(given, place)) do
    list[i] = made.layout
    found[made.layout.id] = made
  end
  return {
    rows = given.rows, row_titles = given.row_titles,
    plate_spread = given.plate_spread, adjusters = list, at = core.where_field(place, "rows"),
  }, found
end

local function check_layout(given, place)
  if given.options ~= nil and type(given.layout) ~= "function" then
    core.fail("procedure: options are answered before the layout; write layout = function(given) return { ... } end",
      core.where_field(place, "layout"))
  end
end

-- A field that depends on the options' answers is a function of them.
local function settle(value, answers)
  if type(value) == "function" then return value(answers) end
  return value
end

-- Fixes the layout and gives the adjusters by id.
local function fix_layout(given, answers, place)
  local returned = given.layout(answers)
  if type(returned) ~= "table" then
    core.fail("the function of the layout is to return a table: return { rows = ..., adjusters = ... }",
      core.where_field(place, "layout"))
  end
  local layout, found = layout_of(returned, place)
  core.request {
    op = "layout", layout = layout, at = place, stage = "The engine",
    text = "This is the engine that the job is for. If it is not so, go back and answer again.",
  }
  return found
end

local function job_of(given, found, answers)
  local settled = {}
  for name, value in pairs(given) do settled[name] = value end
  settled.throttle = settle(given.throttle, answers)
  return jobs.make(settled, found)
end

core.export("procedure", function(given)
  local place = core.where()
  fields.check("procedure", given, "procedure", place)
  check_layout(given, place)
  local declare = {
    op = "declare", at = place,
    procedure = { id = given.id, version = given.version, title = given.title, api = given.api },
    gauge = given.gauge, tolerance = given.tolerance, risk = given.risk,
    cautions = given.cautions and core.array(given.cautions),
  }
  if type(given.layout) ~= "function" then
    local found
    declare.layout, found = layout_of(given.layout, place)
    return core.procedure(declare, function() given.run(job_of(given, found, {})) end)
  end
  declare.options = options.declared(given.options, core.where_field(place, "options"))
  return core.procedure(declare, function()
    local answers = options.answers(declare.options)
    given.run(job_of(given, fix_layout(given, answers, place), answers))
  end)
end)

for _, exports in ipairs { adjusters, numbering } do
  for name, call in pairs(exports) do core.export(name, call) end
end
