-- One table that fills the file.
-- script: the file returns nothing
-- file
local t = { @10000<1.5,> }
