-- Heat and mixture held against the air, where the shop has the instrument: what is fuel or spark is said to be that,
-- and no air adjuster is turned for it.

local fields = require "fields"

local crosscheck = {}

local function measure_ports(job)
  local heat = {}
  for _, bore in ipairs(fields.bores(job)) do
    if not job.at.left_out[bore] then
      heat[bore] = job:number {
        key = "cross.heat." .. bore, title = "Exhaust port, bore " .. bore,
        text = "At the port, the same distance from the head each time. Do not touch.",
        quantity = "temperature", unit = "C", low = 0, high = 1000,
      }
    end
  end
  return heat
end

local function side_name(layout, row)
  local title = layout.row_titles and layout.row_titles[row]
  return title and title ~= "" and title or "row " .. row
end

local function ask_mixture(job, key, title, text)
  return job:number {
    key = key, title = title, text = text,
    why = "Lambda is 1 where air and fuel just fit. An air-fuel ratio is divided by the fuel's own (petrol 14.7).",
    quantity = "ratio", unit = "", low = 0.5, high = 2,
  }
end

-- A sensor behind each row, or one behind one of them or all.
local function measure_mixture(job)
  local layout = fields.known("layout")
  local options = { { id = "all", text = "one, behind all bores" } }
  for row in ipairs(layout.rows) do
    if #layout.rows > 1 then
      table.insert(options, { id = "row-" .. row, text = "one, on the " .. side_name(layout, row) .. " side alone" })
    end
  end
  if #layout.rows > 1 then table.insert(options, { id = "each", text = "one on each side" }) end
  local where = #options == 1 and "all" or job:choose {
    key = "cross.sensors", title = "Mixture sensors", text = "Which sensors are there to read?", options = options,
  }
  if where == "all" then
    return { { bores = layout.bores, value = ask_mixture(job, "cross.mixture", "Mixture", "Lambda, warm idle.") } }
  end
  local sensors = {}
  for row, bores in ipairs(layout.rows) do
    if where == "each" or where == "row-" .. row then
      local name = side_name(layout, row)
      table.insert(sensors, {
        bores = bores,
        value = ask_mixture(job, "cross.mixture." .. name, "Mixture, " .. name, "Lambda on that side, warm idle."),
      })
    end
  end
  return sensors
end

local function named(one)
  return (#one.bores == 1 and "bore " or "bores ") .. table.concat(one.bores, ", ")
end

local agreed = {
  exhaust = "Air and heat agree.",
  mixture = "Air and mixture agree.",
  both = "Air, heat and mixture agree.",
}

local says = {
  ["agree"] = function(_, _, way) return agreed[way] end,
  ["cold-bore"] = function(one, kelvin)
    return ("%s is %s colder than the others, and not for want of air: plug, lead, injector or jet there."):format(
      named(one), kelvin)
  end,
  ["hot-bore"] = function(one, kelvin)
    return ("%s is %s hotter than the others, and not from more air: lean, late spark or a valve there."):format(
      named(one), kelvin)
  end,
  ["cold-side"] = function(one, kelvin)
    return ("%s: the side is %s colder, and not for want of air: its fuel or spark."):format(named(one), kelvin)
  end,
  ["lean-side"] = function(one)
    return ("%s run %.0f %% leaner than the others at the same air: their fuel, or a leak in their exhaust."):format(
      named(one), one.size * 100)
  end,
  ["air-explains"] = function(one)
    return ("What is off at %s goes with its air. Even the air first, then look again."):format(named(one))
  end,
  ["air-alone"] = function(one)
    return ("%s: uneven air but even heat. Fuel was trimmed to it: set the trims back once the air is even."):format(
      named(one))
  end,
  ["one-sensor"] = function() return "The air is even: what the one sensor shows holds for all bores." end,
  ["one-sensor-waits"] = function()
    return "The air is not proven even: what the one sensor shows holds for its own bores alone."
  end,
}

local function tell(job, found, way)
  local fuel = false
  for _, one in ipairs(found) do
    fuel = fuel or one.fuel
    local text = says[one.word](one, job:shown_change("temperature", math.abs(one.size), "C"), way)
    text = text:sub(1, 1):upper() .. text:sub(2)
    core.request { op = "tell", kind = "crosscheck", text = text, stage = job.at.stage }
  end
  if fuel then
    core.request {
      op = "tell", kind = "crosscheck", stage = job.at.stage,
      text = "That is fuel or spark. No air screw, plate or link is turned for it, and none is planned from it.",
    }
  end
end

-- job:cross_check() asks what the shop has, and tells what it says beside the air.
function crosscheck.cross_check(job)
  job:stage "Cross-check"
  local way = job:choose {
    key = "cross.way", title = "Cross-check",
    text = "Does the shop have an instrument for it here?",
    why = "Even air with uneven heat points at fuel or spark, and no air adjuster mends that.",
    options = {
      { id = "none", text = "none at hand" },
      { id = "exhaust", text = "exhaust temperature at each port" },
      { id = "mixture", text = "a mixture sensor in the exhaust, or one a side" },
      { id = "both", text = "both of these" },
    },
  }
  if way == "none" or not job:comparable() then return end
  local request = { op = "crosscheck" }
  if way ~= "mixture" then request.heat = measure_ports(job) end
  if way ~= "exhaust" then request.mixture = measure_mixture(job) end
  local reply = fields.try(job, "No cross-check", request)
  if reply then tell(job, reply.crosscheck, way) end
end

return crosscheck
