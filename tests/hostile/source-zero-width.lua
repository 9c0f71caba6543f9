-- A name with a letter that nobody sees.
-- script: U+200B hides or reorders text
local a​b = 1 --<
return procedure {}
