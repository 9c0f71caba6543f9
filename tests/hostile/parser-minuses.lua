-- A row of signs.
-- script: more than 400 operators, members and calls in one expression
local y = @20000<- >1 --<
return procedure {}
