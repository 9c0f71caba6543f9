-- One condition that fills the file.
-- script: more than 400 operators, members and calls in one expression
local x = true
local y = x@7000< and x> --<
return procedure {}
