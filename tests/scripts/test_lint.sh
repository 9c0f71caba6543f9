#!/usr/bin/env bash
# scripts/lint in a small tree of its own: clean at first, then with one defect after the other.
# shellcheck source=./helpers.sh
source "$(dirname -- "${BASH_SOURCE[0]}")/helpers.sh"

tree=$work/tree
mkdir -p "$tree"/{core/base,core/script,include/evenbore,procedures/lib,scripts,tests,.ci}
cp "$project/.luacheckrc" "$project/.clang-format" "$tree/"
cp "$project/scripts/setup" "$project/scripts/lint" "$tree/scripts/"
: >"$tree/CMakeLists.txt"
echo '#include "evenbore/part.h"' >"$tree/core/base/part.c"
echo '#include <lauxlib.h>' >"$tree/core/script/part.c"
: >"$tree/include/evenbore/part.h"
echo 'return procedure { id = "x", run = function(job) job:balance() end }' >"$tree/procedures/x.lua"
echo 'return { ask = function() return core.ask() end }' >"$tree/procedures/lib/y.lua"

lint() {
  run "$tree/scripts/lint" "$@"
}

# caught CHECK FILE TEXT: the check finds this line and no longer when it is gone.
caught() {
  local file=$tree/$2
  [[ ! -e $file ]] || cp "$file" "$work/kept"
  printf '%s\n' "$3" >>"$file"
  lint "$1"
  expect_status "$2: $3" 1
  expect "$2: $3: last line" "${output##*$'\n'}" "0 passed, 1 failed"
  expect "$2: $3" "$output" "*${2##*/}*"
  rm "$file"
  [[ ! -e $work/kept ]] || mv "$work/kept" "$file"
  lint "$1"
  expect_status "$2 without: $3" 0
}

lint tree text format includes shell lua
expect_status "a clean tree" 0
expect "a clean tree: last line" "${output##*$'\n'}" "6 passed, 0 failed"

lint nothing
expect_status "a check that is not there" 2

caught tree notes.txt "left over"
caught text core/base/part.c "int space; "
caught text core/base/part.c $'int tab;\t/* here */'
caught text core/base/part.c "int wide; /* $(printf '%0120d' 0) */"
caught text scripts/other "exit "
caught text procedures/long.lua "$(seq -f '-- %g' 701)"
caught format core/base/part.c "int a,b;"
caught includes core/base/part.c '#include "../script/part.h"'
caught includes core/base/part.c '#include "part_of_none.h"'
caught includes core/base/part.c '#include <lua.h>'
caught includes core/script/part.c '#include <cjson/cJSON.h>'
caught includes core/script/part.c '#include <sodium.h>'
caught includes include/evenbore/part.h '#include "part.h"'
caught shell .ci/run $'#!/bin/bash\necho $1'
caught lua procedures/x.lua "os.exit(1)"
caught lua procedures/x.lua "core.ask()"
caught lua procedures/lib/y.lua "function global() end"
