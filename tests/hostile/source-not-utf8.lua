-- A source that is not UTF-8.
-- script: not UTF-8
local s = "café" --<
return procedure {}
