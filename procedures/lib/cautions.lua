-- The usual cautions of work at a running engine. They name hazards; local rules
-- and the judgement of a licensed technician come before them.

local cautions = {}

cautions.place_hazards = {
  "Local rules and a licensed technician come before anything this program says.",
  "Exhaust gas kills indoors: extraction on the tailpipe, doors open, somebody knows where you are.",
  "Fuel: no flame, no spark, no leak; a fire extinguisher within reach.",
  "Wheels chocked, brake on, gearbox in neutral or park.",
}

function cautions.place(hazards)
  return {
    key = "caution.place", title = "The place", critical = true, hazards = hazards,
    text = "Go round the vehicle and check each point.",
    why = "These hold for the whole job. They are shown again whenever you come back to it.",
  }
end

cautions.running = {
  key = "caution.running", title = "Engine running", critical = true, applies = "running",
  text = "From the start on these are within a hand's reach.",
  hazards = {
    "Fan, belts and pulleys take sleeves, hair and leads with them.",
    "Exhaust, coolant and heads burn.",
    "Nothing loose above the open stacks; a backfire comes out of them: keep your face away.",
    "Throttle stuck open: ignition off at once. Know where the switch is, and that it works.",
  },
  why = "An engine with open stacks draws in whatever falls, and throws flame when it spits back.",
}

cautions.hands = {
  key = "caution.hands", title = "Hands on the throttles", critical = true, applies = "stopped",
  text = "Before a tool touches the linkage.",
  hazards = {
    "Ignition off and key out: nobody can start it while your hands are in.",
    "Heads and exhaust stay hot long after.",
    "Springs fly and plates shut on fingers: hold the shaft.",
    "Cover the open stacks while tools and screws are about, and count both.",
  },
  why = "A screw in a stack costs an engine. A plate under a return spring costs a fingertip.",
}

return cautions
