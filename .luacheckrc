-- Made by: evenbore manual api --as luacheck
stds.procedure = {
  read_globals = {
    "adjuster", "assert", "bleed", "coupler", "error", "ipairs", "link", "numbering", "numbering_option",
    "pairs", "pcall", "plate", "plates", "procedure", "rawequal", "rawlen", "require", "screw", "select",
    "stations", "tonumber", "tostring", "type",
    math = {
      fields = {
        "abs", "ceil", "deg", "floor", "fmod", "huge", "max", "maxinteger", "min", "mininteger", "modf",
        "pi", "rad", "sqrt", "tointeger", "type", "ult",
      },
    },
    string = {
      fields = {
        "byte", "char", "find", "format", "len", "lower", "rep", "split", "sub", "trim", "upper",
      },
    },
    table = {
      fields = {
        "concat", "insert", "remove", "sort", "unpack",
      },
    },
    utf8 = {
      fields = {
        "char", "codepoint", "codes", "len", "offset",
      },
    },
  },
}
std = "procedure"
files["procedures/lib/*.lua"] = { read_globals = { "core" } }
max_line_length = 120
