-- A file that gives nothing.
-- script: the file returns nothing; end it with: return procedure
local a = 1 -- file
