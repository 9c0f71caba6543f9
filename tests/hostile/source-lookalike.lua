-- A table that looks like a procedure.
-- script: the file returns something else
-- file
return { id = "hostile", version = "1", api = 1, title = "Hostile", layout = {}, run = function() end }
