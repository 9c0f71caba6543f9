-- One concatenation that fills the file.
-- script: more than 400 operators, members and calls in one expression
local y = "a"@9000<.."a"> --<
return procedure {}
