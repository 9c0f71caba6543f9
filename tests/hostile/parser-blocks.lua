-- Blocks inside one another.
-- script: too deep inside one another
-- file
@6000<do >@6000<end >
return procedure {}
