#!/usr/bin/env bash
# scripts/setup on machines that lack something, told by a PATH of stand-ins.
# What lies in /usr/include is this machine's own.
# shellcheck source=./helpers.sh
source "$(dirname -- "${BASH_SOURCE[0]}")/helpers.sh"

run_packages="gcc cmake ninja-build pkg-config liblua5.4-dev libcjson-dev libsodium-dev libseccomp-dev"
bin=$work/bin
calls=$work/calls

# stand_in NAME BODY: in BODY, $bin and $calls are those of this test.
stand_in() {
  printf '#!/bin/bash\nbin=%q calls=%q\n%s\n' "$bin" "$calls" "$2" >"$bin/$1"
  chmod +x "$bin/$1"
}

# A machine with next to nothing, for a user of that number.
bare_machine() {
  rm -rf "$bin"
  mkdir -p "$bin"
  local name
  for name in bash env mktemp rm tail true; do ln -s "$(type -P "$name")" "$bin/$name"; done
  stand_in id "echo $1"
  : >"$calls"
}

# An apt-get that knows packages only after an update, and installs commands that do nothing.
read -r -d '' apt_get <<'END' || true
echo "$DEBIAN_FRONTEND: $*" >>"$calls"
if [[ $* == *update* ]]; then : >"$bin/lists" && exit; fi
[[ -e $bin/lists ]] || { echo "E: Unable to locate package" && exit 100; }
for name in cc gcc cmake ninja pkg-config; do /bin/ln -sf /bin/true "$bin/$name"; done
END

setup() {
  run env -i PATH="$bin" TMPDIR="$work" "$project/scripts/setup" "$@"
}

calls() {
  sed 's/-q -o DPkg::Lock::Timeout=600 //' "$calls"
}

run "$project/scripts/setup"
expect_status "all there" 0
expect "all there: says" "$output$errors" ""

bare_machine 0
stand_in apt-get "$apt_get"
setup
expect_status "root" 0
expect "root: says" "$output$errors" "evenbore: installing $run_packages with apt-get, to build the program"
install="noninteractive: install -y --no-install-recommends $run_packages"
expect "root: calls" "$(calls)" "$install"$'\n'"noninteractive: update"$'\n'"$install"
setup
expect "a second time: says" "$output$errors" ""

bare_machine 0
for name in cc gcc cmake ninja; do ln -s /bin/true "$bin/$name"; done
# shellcheck disable=SC2016 # for the stand-in
stand_in pkg-config '[[ $2 != libsodium || -e $bin/lists ]]'
stand_in apt-get "$apt_get"
setup
expect "one library: says" "$errors" "evenbore: installing libsodium-dev with apt-get, to build the program"

bare_machine 0
for name in pdftotext node npm; do ln -s /bin/true "$bin/$name"; done
stand_in apt-get "$apt_get"
setup browser
expect "a browser: says" "$errors" "evenbore: installing chromium with apt-get, to look at the report's page*"

bare_machine 0
stand_in apt-get "exit 0"
setup
expect_status "installed in vain" 1
expect "installed in vain: says" "$errors" "*installed, yet still not found: a C compiler, CMake*"

bare_machine 0
stand_in apt-get "echo the network is gone; exit 100"
setup
expect_status "apt-get fails" 1
expect "apt-get fails: says" "$errors" "*the network is gone*apt-get could not install gcc*"

bare_machine 1000
stand_in apt-get "$apt_get"
# shellcheck disable=SC2016 # for the stand-in
stand_in sudo 'echo "sudo $*" >>"$calls"; shift; exec "$@"'
setup
expect_status "sudo" 0
expect "sudo: calls" "$(calls)" "sudo -n true*sudo -n env DEBIAN_FRONTEND=noninteractive apt-get install*"

bare_machine 1000
stand_in apt-get "$apt_get"
setup
expect_status "no right to install" 1
expect "no right to install: lines" "$(lines "$errors")" 1
expect "no right to install: says" "$errors" \
  "* run: su - -c 'apt-get update && apt-get install -y --no-install-recommends $run_packages'"
expect "no right to install: calls" "$(calls)" ""

stand_in sudo "exit 1"
setup test
expect_status "sudo asks for a password" 1
expect "sudo asks for a password: lines" "$(lines "$errors")" 1
expect "sudo asks for a password: says" "$errors" "* run: sudo sh -c 'apt-get update && apt-get install*libcmocka-dev*'"
expect "sudo asks for a password: calls" "$(calls)" ""

bare_machine 0
setup
expect_status "no apt-get" 1
expect "no apt-get: lines" "$(lines "$errors")" 1
expect "no apt-get: says" "$errors" "*Lua 5.4, cJSON, libsodium, libseccomp"

setup everything
expect_status "unknown set" 2
