-- A source that reads otherwise than it runs.
-- script: U+202E hides or reorders text
local safe = true -- ‮ the end of it --<
return procedure {}
