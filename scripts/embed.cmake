# Writes procedures and their library as one C file, so that the program needs no other.
#   cmake -DOUTPUT=FILE.c -DPROCEDURES="a.lua;b.lua" -DLIBRARY="lib/c.lua" -P embed.cmake

set(number 0)

# Adds each file's bytes, and a list of them named `table`, to `text`.
function(embed table prefix)
  list(SORT ARGN)
  set(rows "")
  foreach(file ${ARGN})
    math(EXPR number "${number} + 1")
    get_filename_component(name ${file} NAME)
    file(READ ${file} bytes HEX)
    string(LENGTH "${bytes}" digits)
    math(EXPR size "${digits} / 2")
    string(REGEX REPLACE "(..)" "0x\\1," bytes "${bytes}")
    string(APPEND text "static const unsigned char text_${number}[] = {\n${bytes}0};\n\n")
    file(SHA256 ${file} digest)
    string(APPEND rows "    {\"${prefix}${name}\", (const char *)text_${number}, ${size}, \"${digest}\"},\n")
  endforeach()
  string(APPEND text "const eb_source ${table}[] = {\n${rows}    {NULL, NULL, 0, NULL},\n};\n\n")
  set(number ${number} PARENT_SCOPE)
  set(text "${text}" PARENT_SCOPE)
endfunction()

set(text "#include \"builtin.h\"\n\n")
embed(builtin_procedures "" ${PROCEDURES})
embed(builtin_library "lib/" ${LIBRARY})
file(WRITE ${OUTPUT} "${text}")
