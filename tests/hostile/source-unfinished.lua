-- A text without an end.
-- script: unfinished long string
local s = [==[
return procedure {}
--<