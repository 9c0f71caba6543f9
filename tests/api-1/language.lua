-- What of Lua itself a procedure can use, each with what it gives.
local function told(...)
  local words = {}
  for i = 1, select("#", ...) do words[i] = tostring((select(i, ...))) end
  return "own: " .. table.concat(words, " ")
end

local function numbers()
  return told(math.abs(-2), math.ceil(1.2), math.floor(1.8), math.fmod(7, 3), math.max(1, 3), math.min(1, 3),
    math.sqrt(9), math.tointeger(3.0), math.type(1), math.type(1.0), math.ult(1, 2), math.huge > 1, math.modf(2.5)),
    told(("%.4f %.4f %.4f"):format(math.pi, math.deg(math.pi), math.rad(180)), math.maxinteger, math.mininteger,
      tonumber("0x10"), tonumber("z", 36), 7 // 2, 7 % 3, 2 ^ 10, 5 & 3, 1 << 4)
end

local function texts()
  return told(string.byte("A"), string.char(66), string.find("abc", "b"), string.find("a.c", "."),
    string.format("%d %s %q %5.1f", 3, "x", "y", 2.5), string.len("abc"), string.lower("AB"), string.upper("ab")),
    told(string.rep("ab", 3, "-"), string.sub("abcdef", 2, -2), string.trim("  a b "), #string.split("a,b,,c", ","),
      table.concat(string.split("a.b", "."), "|"), ("x"):rep(3), "a" < "b", #"abc"),
    told(utf8.char(181), utf8.codepoint("µ"), utf8.len("µm"), utf8.offset("µm", 2), #utf8.char(8364))
end

local function tables()
  local list, keys, codes = { 3, 1, 2 }, {}, {}
  table.insert(list, 5)
  table.insert(list, 1, 9)
  local removed = table.remove(list)
  table.sort(list, function(a, b) return a > b end)
  for name in pairs { b = 1, a = 2, [2] = 3, [1] = 4 } do table.insert(keys, tostring(name)) end
  for _, code in utf8.codes("aµ") do table.insert(codes, code) end
  local sum = 0
  for i, value in ipairs(list) do sum = sum + i * value end
  return told(table.concat(list, ","), removed, table.concat(keys, ","), table.concat(codes, ","), sum,
    table.unpack({ "u", "v" })), told(rawequal(list, list), rawlen(list), type(nil), type(told), select(-1, 1, 2))
end

local function failures()
  local ok, why = pcall(error, { code = 7 })
  local called, at = pcall(function() error("said") end)
  local asserted = pcall(assert, false, "no")
  local given = assert(1, "yes")
  local unknown = pcall(function() return nowhere end)
  return told(ok, why.code, called, at, asserted, given, unknown, (pcall(require, "no-such-file")))
end

return procedure {
  id = "language", version = "1.0.0", api = 1, title = "Language",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "balance", { 1 }, { 2 } } } },
  run = function(job)
    for _, part in ipairs { numbers, texts, tables, failures } do
      for _, text in ipairs { part() } do job:tell(text) end
    end
    job:confirm { key = "own.end", title = "E", text = "own?" }
    job:prepare()
    job:balance()
  end,
}
