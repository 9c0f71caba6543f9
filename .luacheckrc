-- What a procedure sees when it runs: anything else is a mistake that its author should hear of before the engine runs.
stds.procedure = {
  read_globals = {
    "procedure", "link", "coupler", "screw", "bleed", "plate", "plates", "adjuster", "numbering", "numbering_option",
    "stations",
    "assert", "error", "ipairs", "pairs", "pcall", "rawequal", "rawlen", "require", "select", "tonumber", "tostring", "type",
    math = {
      fields = {
        "abs", "ceil", "deg", "floor", "fmod", "huge", "max", "maxinteger", "min", "mininteger", "modf", "pi", "rad",
        "sqrt", "tointeger", "type", "ult",
      },
    },
    string = { fields = { "byte", "char", "find", "format", "len", "lower", "rep", "split", "sub", "trim", "upper" } },
    table = { fields = { "concat", "insert", "remove", "sort", "unpack" } },
    utf8 = { fields = { "char", "codepoint", "codes", "len", "offset" } },
  },
}
std = "procedure"
files["procedures/lib/*.lua"] = { read_globals = { "core" } }
max_line_length = 120
