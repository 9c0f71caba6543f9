#!/usr/bin/env bash
# Shared by the tests of the scripts.  Each test runs as `bash test_NAME.sh`,
# works in $work, which is removed at the end, and stops at the first check that does not hold.
set -euo pipefail

# shellcheck disable=SC2034 # read by the tests
project=$(dirname -- "$(dirname -- "$(dirname -- "$(readlink -f -- "${BASH_SOURCE[0]}")")")")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

fail() {
  printf 'failed: %s\n' "$*"
  printf -- '-- status %s\n-- standard output\n%s\n-- standard error\n%s\n' "$status" "$output" "$errors"
  exit 1
}

# run COMMAND...: leaves its exit status, standard output and standard error in variables.
run() {
  status=0
  "$@" >"$work/output" 2>"$work/errors" || status=$?
  output=$(cat "$work/output")
  errors=$(cat "$work/errors")
}

# expect WHAT GOT WANTED: WANTED is a pattern as in [[ == ]].
expect() {
  # shellcheck disable=SC2053 # a pattern
  [[ $2 == $3 ]] || fail "$1: got \"$2\", wanted \"$3\""
}

# expect_status WHAT WANTED
expect_status() {
  expect "$1: exit status" "$status" "$2"
}

lines() {
  if [[ -z $1 ]]; then echo 0; else wc -l <<<"$1"; fi
}
