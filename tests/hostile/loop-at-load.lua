-- A loop before anything is declared.
-- budget: more than 5000000 steps without asking
local n = 0
while true do n = n + 1 end --<
