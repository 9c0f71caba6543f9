#!/usr/bin/env bash
# scripts/evenbore in a small tree of its own, in a folder with spaces.
# shellcheck source=./helpers.sh
source "$(dirname -- "${BASH_SOURCE[0]}")/helpers.sh"

tree="$work/a clone/of evenbore"
first_line="Building evenbore (once, about * s)..."
export XDG_CACHE_HOME="$work/a cache"

plant() {
  mkdir -p "$tree/scripts"
  cp "$project/scripts/setup" "$project/scripts/evenbore" "$tree/scripts/"
  cat >"$tree/CMakeLists.txt" <<'END'
cmake_minimum_required(VERSION 3.25)
project(evenbore LANGUAGES C)
add_executable(evenbore main.c)
END
  cat >"$tree/main.c" <<'END'
#include <stdio.h>
#include <unistd.h>
int main(int count, char **arguments)
{
  char folder[4096], typed[80] = "";
  printf("in %s", getcwd(folder, sizeof folder));
  for (int i = 1; i < count; i++)
    printf(" [%s]", arguments[i]);
  if (fgets(typed, sizeof typed, stdin) != NULL)
    printf(" typed %s", typed);
  return count;
}
END
}

evenbore() {
  run "$tree/scripts/evenbore" "$@" </dev/null
}

plant
cd "$work"
evenbore a "b  c" ""
expect_status "first run" 4
expect "first run: standard error" "$errors" "$first_line"
expect "first run: standard output" "$output" "in $work \[a\] \[b  c\] \[\]"

evenbore
expect_status "second run" 1
expect "second run: standard error" "$errors" ""

run "$tree/scripts/evenbore" <<<"3.5"
expect "typed" "$output" "in $work typed 3.5"

ln -s "$tree/scripts/evenbore" "$work/a link"
mkdir "$work/elsewhere"
cd "$work/elsewhere"
run "$work/a link" </dev/null
expect "by a link" "$output" "in $work/elsewhere"

sed -i 's/"in %s"/"within %s"/' "$tree/main.c"
evenbore
expect "changed source: standard output" "$output" "within *"
expect "changed source: standard error" "$errors" ""

cp "$tree/main.c" "$work/good.c"
echo "int broken = ;" >>"$tree/main.c"
evenbore
expect_status "broken source" 1
expect "broken source: standard output" "$output" ""
expect "broken source: standard error" "$errors" "*main.c:*error*the build failed*$tree/build/log"
cp "$work/good.c" "$tree/main.c"
evenbore
expect "mended source" "$output" "within *"

rm -r "$tree/build"
"$tree/scripts/evenbore" one </dev/null >"$work/one" 2>&1 &
other=$!
evenbore two
wait $other || true
expect "two at once: the one" "$(cat "$work/one")" "*within * \[one\]"
expect "two at once: the other" "$output" "within * \[two\]"
expect "two at once: builds" "$(cat "$work/one" "$work/errors" | grep -c Building)" 1

mv "$tree" "$work/moved"
tree=$work/moved
evenbore
expect "moved clone" "$output" "within *"

# A file in the folder's place stands for a clone that cannot be written, which does not exist for root.
rm -r "$tree/build"
: >"$tree/build"
evenbore
expect "read-only clone: standard error" "$errors" "$first_line"
expect "read-only clone: standard output" "$output" "within *"
[[ -x $(echo "$XDG_CACHE_HOME"/evenbore/build-*/evenbore) ]] || fail "read-only clone: no program in the cache"
run env -u HOME -u XDG_CACHE_HOME "$tree/scripts/evenbore" </dev/null
expect_status "nowhere to build" 1
expect "nowhere to build: lines" "$(lines "$errors")" 1
expect "nowhere to build: standard error" "$errors" "*set XDG_CACHE_HOME*"
