-- Brackets inside one another.
-- script: more than 180 brackets inside one another
local x = @9000<(>1@9000<)> --<
return procedure {}
