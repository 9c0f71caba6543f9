-- Two procedures, one inside the other.
-- script: run is missing; write run = function(job) ... end
local inner = procedure { --<
  id = "inner", version = "1", api = 1, title = "Inner",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "s", { 1 }, { 2 } } } },
}
return inner
