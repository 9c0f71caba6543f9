-- A member of a member of a member.
-- script: more than 400 operators, members and calls in one expression
local a = {}
local x = a@20000<.a> --<
return procedure {}
