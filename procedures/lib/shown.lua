-- Numbers in a text, as the shop shows them: job:shown("temperature", 75, "C") is "75 C" or "167 F".

local shown = {}

local function text_of(quantity, value, unit, change)
  return core.request { op = "shown", quantity = quantity, value = value, unit = unit, change = change }.text
end

function shown.shown(_, quantity, value, unit)
  return text_of(quantity, value, unit, false)
end

-- A difference of two values: 3 C apart are 5.4 F apart.
function shown.shown_change(_, quantity, value, unit)
  return text_of(quantity, value, unit, true)
end

return shown
