-- A call of a call of a call.
-- script: more than 400 operators, members and calls in one expression
local function f() return f end
local y = f@20000<()> --<
return procedure {}
