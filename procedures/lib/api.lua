-- What a procedure's file sees besides the language: `procedure` and the kinds of adjuster.

local fields = require "fields"
local adjusters = require "adjusters"
local new_job = require "job"

local known = {
  "id", "version", "api", "title", "layout", "gauge", "tolerance", "risk",
  "cautions", "plan", "throttle", "warm_c", "idle_rpm", "held_rpm", "run",
}
local known_layout = { "rows", "row_titles", "adjusters", "plate_spread" }

local function layout_of(given, place)
  fields.check("layout", given, known_layout, place)
  local list = core.array {}
  for i, made in ipairs(given.adjusters or {}) do
    if core.kind(made) ~= "adjuster" then
      core.fail(("layout: entry %d of adjusters is no adjuster; write link { ... }, coupler { ... } or another kind")
        :format(i), place)
    end
    list[i] = made.layout
  end
  return {
    rows = given.rows, row_titles = given.row_titles,
    plate_spread = given.plate_spread, adjusters = list,
  }
end

local function by_id(given)
  local found = {}
  for _, made in ipairs(given and given.adjusters or {}) do
    found[made.layout.id] = made
  end
  return found
end

core.export("procedure", function(given)
  local place = core.where()
  fields.check("procedure", given, known, place)
  for _, name in ipairs { "id", "version", "title" } do
    fields.text("procedure", given, name, place)
  end
  if type(given.api) ~= "number" then
    core.fail("procedure: api is missing; write api = 1", place)
  end
  if type(given.run) ~= "function" then
    core.fail("procedure: run is missing; write run = function(job) ... end", place)
  end
  local declare = {
    op = "declare", at = place,
    procedure = { id = given.id, version = given.version, title = given.title, api = given.api },
    gauge = given.gauge, tolerance = given.tolerance, risk = given.risk,
  }
  if given.layout == nil then
    core.fail("procedure: layout is missing; write layout = { rows = ..., adjusters = ... }", place)
  end
  declare.layout = layout_of(given.layout, place)
  return core.procedure(declare, function()
    given.run(new_job(given, by_id(given.layout)))
  end)
end)

for name, kind in pairs(adjusters) do
  core.export(name, kind)
end
