-- Checks of the tables that authors write.

local fields = {}

-- Every name in `given` is one of `known`; numbered entries are the caller's affair.
function fields.check(who, given, known, place)
  if type(given) ~= "table" then
    core.fail(("%s is to be a table: %s { ... }"):format(who, who), place)
  end
  local is_known = {}
  for _, name in ipairs(known) do is_known[name] = true end
  for name in pairs(given) do
    if type(name) == "string" and not is_known[name] then
      local near = core.nearest(name, known)
      core.fail(("%s has no field %q%s"):format(who, name, near and "; did you mean " .. near .. "?" or ""), place)
    end
  end
end

function fields.list(who, given, place)
  if type(given) ~= "table" then
    core.fail(("%s: a list is needed, such as { 1, 2, 3, 4 }"):format(who), place)
  end
end

function fields.text(who, given, name, place)
  if type(given[name]) ~= "string" or given[name] == "" then
    core.fail(("%s: %s is missing; write %s = \"...\""):format(who, name, name), place)
  end
end

-- Calls and fields that a prompt needs, with a text where one is missing.
function fields.want(who, given, names)
  if type(given) ~= "table" then
    core.fail(("%s is to be given a table: job:%s { ... }"):format(who, who))
  end
  for _, name in ipairs(names) do
    if given[name] == nil then
      core.fail(("%s needs %s"):format(who, name))
    end
  end
end

return fields
