-- A file of many small functions.
-- script: the file returns nothing
-- file
@1400<do local f = function() return 1 end f() end
>
