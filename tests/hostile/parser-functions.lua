-- Functions inside one another.
-- script: too deep inside one another
-- file
local f = @2500<function() return >1@2500< end>
return procedure {}
