-- Options: what a procedure asks before its layout is fixed, such as the number of cylinders.
-- { id =, title =, text =, choices = { { id =, text = }, ... } } or { id =, title =, text =, low =, high =, step = };
-- with quantity and unit a number is a length or an angle, without them a count.

local fields = require "fields"

local options = {}

local letters = "abcdefghijklmnopqrstuvwxyz_0123456789"

-- An id is read as given.cylinders, so it is to be a name.
local function is_name(id)
  for i = 1, #id do
    if not letters:find(id:sub(i, i)) then return false end
  end
  return id:byte() > ("9"):byte()
end

local function check_kind(who, option, place)
  if option.choices == nil then
    if type(option.low) ~= "number" or type(option.high) ~= "number" then
      core.fail(("%s: write choices = { { id = ..., text = ... }, ... }, or low and high of a number"):format(who),
        place)
    end
  elseif option.low ~= nil or option.high ~= nil then
    core.fail(("%s: it has choices and low or high; it is one or the other"):format(who), place)
  end
end

local function ask_of(number, option, place)
  local who = ("option %d"):format(number)
  fields.check(who, option, "option", place)
  if not is_name(option.id) then
    core.fail(("%s: id %q is to be small letters, digits and _, such as \"cylinders\""):format(who, option.id), place)
  end
  check_kind(who, option, place)
  local ask = {
    id = option.id, key = "option." .. option.id, stage = "The engine", at = place,
    title = option.title, text = option.text, why = option.why,
  }
  if option.choices then
    ask.kind, ask.options = "choose", option.choices
  else
    ask.kind, ask.low, ask.high, ask.step = "number", option.low, option.high, option.step
    ask.quantity, ask.unit = option.quantity or "count", option.unit or ""
  end
  return ask
end

-- The asks that will be made, for all to know beforehand.
function options.declared(given, place)
  local asks = core.array {}
  for number, option in ipairs(given or {}) do asks[number] = ask_of(number, option, place) end
  return asks
end

-- Their answers by id; what the engine file says, of its layout or its throttles, is not asked.
function options.answers(asks)
  local file = fields.known("inputs").engine_file or {}
  local layout, throttle = file.layout or {}, file.throttle or {}
  local answers = {}
  for _, ask in ipairs(asks) do
    local request = { op = "ask" }
    for name, value in pairs(ask) do request[name] = value end
    answers[ask.id] = layout[ask.id]
    if answers[ask.id] == nil then answers[ask.id] = throttle[ask.id] end
    if answers[ask.id] == nil then answers[ask.id] = core.request(request).value end
  end
  return answers
end

return options
