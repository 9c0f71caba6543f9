-- More locals than a function can have.
-- script: too many local variables
local a = 1
@250<local a = a
>
-- line 204
return procedure {}
