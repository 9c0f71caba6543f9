-- How cylinders are numbered: schemes of the trade by name (common practice, no source).
-- None is ever assumed: a procedure names one, or asks for it with numbering_option.

local fields = require "fields"

-- In the order in which they are offered. `rows` is how many rows of bores a scheme fills; front is the end away from
-- the gearbox, left and right are those of somebody who looks forward from there.
local schemes = {
  { id = "odd-left", rows = 2, text = "odd numbers left, even numbers right" },
  { id = "odd-right", rows = 2, text = "odd numbers right, even numbers left" },
  { id = "left-first", rows = 2, text = "left side first, front to rear, then the right side" },
  { id = "right-first", rows = 2, text = "right side first, front to rear, then the left side" },
  { id = "front-to-rear", rows = 1, text = "number 1 at the front end of the row" },
  { id = "rear-to-front", rows = 1, text = "number 1 at the rear end of the row" },
}

local function run(first, last, step)
  local row = {}
  for number = first, last, step do table.insert(row, number) end
  return row
end

-- The bores of each row, front to rear; of two rows the left one first.
local fill = {
  ["odd-left"] = function(count) return { run(1, count, 2), run(2, count, 2) } end,
  ["odd-right"] = function(count) return { run(2, count, 2), run(1, count, 2) } end,
  ["left-first"] = function(count) return { run(1, count // 2, 1), run(count // 2 + 1, count, 1) } end,
  ["right-first"] = function(count) return { run(count // 2 + 1, count, 1), run(1, count // 2, 1) } end,
  ["front-to-rear"] = function(count) return { run(1, count, 1) } end,
  ["rear-to-front"] = function(count) return { run(count, 1, -1) } end,
}

local function find(id)
  local ids = {}
  for _, scheme in ipairs(schemes) do
    if scheme.id == id then return scheme end
    table.insert(ids, scheme.id)
  end
  local near = type(id) == "string" and core.nearest(id, ids)
  core.fail(("numbering: there is no scheme %q; %s"):format(tostring(id),
    near and ("did you mean %q?"):format(near) or "there are " .. table.concat(ids, ", ")))
end

local function check_count(scheme, count)
  local whole = type(count) == "number" and count >= 1 and count <= 24 and count % 1 == 0
  if not whole then
    core.fail(("numbering: %s cylinders cannot be; write a whole number from 1 to 24"):format(tostring(count)))
  end
  if count % scheme.rows ~= 0 then
    core.fail(("numbering: %q fills two rows alike, and %d is an odd number; take an even one, or a scheme of one row")
      :format(scheme.id, count))
  end
end

local numbering = {}

-- numbering("odd-left", 8) gives { { 1, 3, 5, 7 }, { 2, 4, 6, 8 } }: the rows of a layout.
function numbering.numbering(id, count)
  local scheme = find(id)
  check_count(scheme, count)
  return fill[id](count // 1)
end

-- numbering_option(2): the tuner, or the engine file, says which scheme of two rows it is.
function numbering.numbering_option(rows)
  local choices = {}
  for _, scheme in ipairs(schemes) do
    if scheme.rows == rows then table.insert(choices, { id = scheme.id, text = scheme.text }) end
  end
  if #choices == 0 then
    core.fail(("numbering_option: there are schemes for 1 and for 2 rows, none for %s"):format(tostring(rows)))
  end
  return {
    id = "numbering", title = "Cylinder numbers", choices = choices,
    text = rows == 1 and "Which end does the maker count from? Front is the end away from the gearbox."
      or "How are they numbered? Left and right as seen from the gearbox, looking forward.",
    why = "Makers number in different ways. All that follows names bores by these numbers.",
  }
end

-- stations(row, 1, 2): the bores of a row from one station to another, counted from the front; to its end without `to`.
function numbering.stations(row, from, to)
  fields.list("stations", row)
  to = to or #row
  if type(from) ~= "number" or type(to) ~= "number" or from < 1 or to > #row or from > to then
    core.fail(("stations: from %s to %s is no part of a row of %d"):format(tostring(from), tostring(to), #row))
  end
  return { table.unpack(row, from, to) }
end

return numbering
