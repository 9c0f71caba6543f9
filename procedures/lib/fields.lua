-- Checks of what authors write, by the program's own table of it (core.api).

local fields = {}

local said = {
  text = "a text", number = "a number", whole = "a whole number", flag = "true or false",
  bore = "a bore's number or name", bores = "a list of bores, such as { 1, 3 }",
  texts = "a list of texts, such as { \"a\", \"b\" }", rows = "a list of rows, such as { { 1, 2, 3, 4 } }",
  pair = "two numbers, { low, high }", ["function"] = "a function",
  adjusters = "a list of adjusters, such as { plates(rows) }", adjuster = "an adjuster",
}

local function wanted(field)
  local words = {}
  for i, kind in ipairs(field.type:split("|")) do
    words[i] = said[kind] or (kind:sub(1, 8) == "list of " and "a list of tables, { { ... }, ... }")
      or "a table, { ... }"
  end
  return table.concat(words, ", or ")
end

local function met(value)
  if type(value) == "string" then return ("the text %q"):format(value:sub(1, 40)) end
  if type(value) == "number" or type(value) == "boolean" then return tostring(value) end
  if type(value) == "userdata" then return "an " .. core.kind(value) end
  return "a " .. type(value)
end

-- What is to be written in its place.
local function remedy(field, value)
  local number = type(value) == "string" and tonumber(value)
  if number and (field.type == "number" or field.type == "whole") then
    return ("; write %s = %s, without quotes"):format(field.name, value)
  end
  if field.type == "text" and type(value) == "number" then
    return ("; write %s = \"%s\", in quotes"):format(field.name, tostring(value))
  end
  if field.type == "texts" and type(value) == "string" then
    return ("; write %s = { %q }"):format(field.name, value)
  end
  if field.type == "flag" then return ("; write %s = true or %s = false"):format(field.name, field.name) end
  return ""
end

-- The unit that the number may have been meant in, as "; 180 F is 82.2 C".
local function other_unit(field, value)
  local others = {
    C = { { "F", (value - 32) / 1.8 } },
    mm = { { "in", value * 25.4 }, { "thou", value * 0.0254 } },
    share = { { "%", value / 100 } },
    minutes = { { "hours", value * 60 } },
  }
  for _, other in ipairs(others[field.unit] or {}) do
    if other[2] >= field.low and other[2] <= field.high then
      local unit = field.unit == "share" and "" or " " .. field.unit
      return ("; %g %s is %.4g%s"):format(value, other[1], other[2], unit)
    end
  end
  return ""
end

-- Raises at the field's own line inside of the table at a place.
local function fail_at(name, text, place)
  core.fail(text, core.where_field(place or core.where(), name))
end

local function check_range(who, field, value, place)
  if type(value) ~= "number" or not field.low or (value >= field.low and value <= field.high) then return end
  local unit = field.unit and field.unit ~= "share" and " " .. field.unit or ""
  fail_at(field.name, ("%s: %s is %g; it is to be from %g to %g%s%s"):format(
    who, field.name, value, field.low, field.high, unit, other_unit(field, value)), place)
end

local rows_of = {}

-- The rows of a table or call, read once; false where there are none.
local function rows(name)
  local known = rows_of[name]
  if known == nil then
    known = core.api(name) or false
    for _, field in ipairs(known or {}) do known[field.name] = field end
    rows_of[name] = known
  end
  return known
end

-- Tables inside of a table, and the choices of a list.
local function check_inside(field, value, outer)
  if type(value) ~= "table" then return end
  local place = core.where_field(outer or core.where(), field.name)
  if field.type == "list of choice" then
    for i, choice in ipairs(value) do fields.check("choice " .. i, choice, "choice", place) end
  end
  for _, kind in ipairs(field.type:split("|")) do
    if rows(kind) then fields.check(kind, value, kind, place) end
  end
end

local function check_value(who, field, value, place)
  if not core.is(field.type, value) then
    fail_at(field.name, ("%s: %s is to be %s, and it is %s%s"):format(
      who, field.name, wanted(field), met(value), remedy(field, value)), place)
  end
  check_range(who, field, value, place)
  check_inside(field, value, place)
end

local examples = {
  text = "\"...\"", whole = "1", flag = "true", texts = "{ \"...\" }", rows = "{ { 1, 2, 3, 4 } }",
  ["function"] = "function(job) ... end", ["layout|function"] = "{ rows = ..., adjusters = ... }",
}

local function check_missing(who, field, place)
  local example = examples[field.type] or field.type:sub(1, 8) == "list of " and "{ { id = ..., text = ... }, ... }"
    or "..."
  core.fail(("%s: %s is missing; write %s = %s"):format(who, field.name, field.name, example), place)
end

local function names_of(known)
  local names = {}
  for i, field in ipairs(known) do names[i] = field.name end
  return names
end

local function check_names(who, given, known, place)
  for name in pairs(given) do
    if type(name) == "string" and not known[name] then
      local names = names_of(known)
      local near = core.nearest(name, names)
      local instead = near and ("; did you mean %s?"):format(near)
        or ("; it can have %s"):format(table.concat(names, ", "))
      fail_at(name, ("%s has no field %q%s"):format(who, name, instead), place)
    end
  end
end

local shapes = {}

-- Every name in `given` is a field of the table `name`, with a value of its type, and all that it needs is there.
-- Numbered entries are the caller's affair.
function fields.check(who, given, name, place)
  if type(given) ~= "table" then
    core.fail(("%s is to be a table: %s { ... }"):format(who, who), place)
  end
  shapes[name] = shapes[name] or core.shape(name)
  if shapes[name](given) then return end
  local known = rows(name)
  check_names(who, given, known, place)
  for _, field in ipairs(known) do
    local value = given[field.name]
    if value ~= nil then
      check_value(who, field, value, place)
    elseif field.need and not tonumber(field.name) then
      check_missing(who, field, place)
    end
  end
end

local function write(call, field)
  local examples_of = { text = " \"...\"", texts = " { \"...\" }", bore = "(1)", bores = " { 1, 2 }" }
  return call .. (examples_of[field.type] or rows(field.type) and " { ... }" or "(...)")
end

-- Says what is wrong with what a call of the job is given; a table is checked by its own rows.
local function check_arguments(call, ...)
  local short = call:sub(5)
  for i, field in ipairs(rows(call)) do
    local value = select(i, ...)
    if value == nil and field.need then
      core.fail(("%s needs %s; write %s"):format(short, field.name, write(call, field)))
    elseif value ~= nil and rows(field.type) then
      if type(value) ~= "table" then
        core.fail(("%s is to be given a table, and it is given %s; write %s { ... }"):format(short, met(value), call))
      end
      fields.check(short, value, field.type)
    elseif value ~= nil then
      check_value(short, field, value)
    end
  end
end

-- A call of the job that looks at what it is given first.
function fields.checked(name, call)
  local fits = core.shape(name)
  return function(job, ...)
    if not fits(...) then check_arguments(name, ...) end
    return call(job, ...)
  end
end

function fields.list(who, given, place)
  if type(given) ~= "table" then
    core.fail(("%s: a list is needed, such as { 1, 2, 3, 4 }"):format(who), place)
  end
end

function fields.text(who, given, name, place)
  if type(given[name]) ~= "string" or given[name] == "" then
    core.fail(("%s: %s is missing; write %s = \"...\""):format(who, name, name), place)
  end
end

-- One thing that the core knows, by its name in job:state(), which takes all of them along.
function fields.known(name)
  return core.request { op = "state", only = name }[name]
end

-- All bores, in the layout's order, which does not change in a job.
function fields.bores(job)
  job.at.bores = job.at.bores or fields.known("layout").bores
  return job.at.bores
end

-- The reply, or nil after telling why there is none: for what a job can do without.
function fields.try(job, what, request)
  local ok, reply = pcall(core.request, request)
  if ok then return reply end
  -- The place in front of the message is for authors.
  local _, at = reply:find(": ")
  job:tell(what .. ": " .. reply:sub((at or 0) + 1) .. ".")
  return nil
end

return fields
