-- The table of globals under its own name.
-- script: _ENV has no meaning in a procedure
local _ENV = {} --<
return procedure {}
