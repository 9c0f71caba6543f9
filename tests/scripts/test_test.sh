#!/usr/bin/env bash
# scripts/test counts what it should, in a small tree of its own.
# shellcheck source=./helpers.sh
source "$(dirname -- "${BASH_SOURCE[0]}")/helpers.sh"

tree="$work/a tree"
mkdir -p "$tree/scripts"
cp "$project/scripts/test" "$tree/scripts/"

# A machine on which the build tool comes with the set-up.
late=$work/late
mkdir "$late" "$work/bin"
ln -s "$(type -P ninja || type -P make)" "$late/"
for tool in bash env dirname readlink nproc mktemp rm tail sed head cmake ctest gcc clang cc ld as ar ranlib nm true false; do
  ln -s "$(type -P $tool)" "$work/bin/$tool"
done
# shellcheck disable=SC2016 # for the stand-in
printf '#!/bin/bash\n[[ $1 == test || -n $BROWSER ]] || exit 1\n/bin/cp -P %q/* %q/\n' "$late" "$work/bin" >"$tree/scripts/setup"
chmod +x "$tree/scripts/setup"

# plant LINE...: the tree's tests.
plant() {
  {
    echo 'cmake_minimum_required(VERSION 3.25)'
    echo 'project(small LANGUAGES C)'
    echo 'enable_testing()'
    echo 'add_test(NAME good COMMAND true)'
    printf '%s\n' "$@"
  } >"$tree/CMakeLists.txt"
}

# counted WHAT LAST-LINE STATUS ARGUMENTS...
counted() {
  local what=$1 last=$2 wanted=$3
  shift 3
  run env PATH="$work/bin" BROWSER="${browser-yes}" "$tree/scripts/test" "$@"
  expect_status "$what" "$wanted"
  expect "$what: last line" "${output##*$'\n'}" "$last"
}

plant
counted "one good test, twice" "2 passed, 0 failed" 0
plant 'add_test(NAME bad COMMAND false)'
counted "a bad test" "2 passed, 2 failed" 1
counted "the good one alone" "2 passed, 0 failed" 0 good
counted "one of two names" "2 passed, 0 failed" 0 good nothing
counted "a name that no test has" "0 passed, 2 failed" 1 nothing
plant 'add_test(NAME off COMMAND true)' 'set_tests_properties(off PROPERTIES DISABLED ON)'
counted "a test that is off" "2 passed, 2 failed" 1
plant 'add_test(NAME idle COMMAND false)' 'set_tests_properties(idle PROPERTIES SKIP_RETURN_CODE 1)'
counted "a test that leaves itself out" "2 passed, 2 failed" 1
plant 'add_test(NAME looks COMMAND true)' 'set_tests_properties(looks PROPERTIES LABELS browser)'
counted "a test with a browser" "4 passed, 0 failed" 0
browser='' counted "no browser to be had" "2 passed, 0 failed" 0
expect "no browser to be had: says" "$output" "*2 skipped, since scripts/setup browser could not *: looks looks*"
browser='' counted "no browser, nor a test that wants one" "2 passed, 0 failed" 0 good
[[ $output != *skipped* ]] || fail "nothing is skipped, and yet it says so"
plant 'add_test(NAME gone COMMAND no-such-program)'
counted "a program that is not there" "2 passed, 2 failed" 1
echo 'int broken = ;' >"$tree/broken.c"
plant 'add_library(broken STATIC broken.c)'
counted "a broken build" "0 passed, 2 failed" 1
expect "a broken build: says" "$output" "*broken.c*error*The build failed*"
