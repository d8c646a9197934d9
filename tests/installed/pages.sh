#!/bin/sh
# usage: pages.sh BUILD. mandoc finds nothing wrong in any page; each option of a command's help, and each key of a file
# that the loader takes, stands in its page. Both are asked of the program and the source, so that new ones count.
set -eu

build=$1
source=$(cd "$(dirname "$0")/../.." && pwd)
pages=$build/pages
failed=
fail() {
  echo "$1" >&2
  failed=yes
}

mandoc -Tlint -Wwarning "$pages"/man1/*.1 "$pages"/man5/*.5 >&2 || failed=yes

said=$(mktemp)
trap 'rm -f "$said"' EXIT
# What a person reads, on one line, without line ends in between.
read_page() {
  mandoc -Tutf8 -Owidth=400 "$1" | col -b >"$said"
}
holds() {
  grep -qF -e "$1" "$said" || fail "$2 has no $1"
}

commands=$("$build/vergeset" complete '' | cut -d ' ' -f 1 | grep -vE '^(help|--.*)$')
[ "$(echo "$commands" | wc -l)" -ge 22 ] || fail "not all commands are told: $commands"
read_page "$pages/man1/vergeset.1"
for command in $commands; do
  holds "vergeset-$command(1)" vergeset.1
done
for command in $commands; do
  page=$pages/man1/vergeset-$command.1
  [ -f "$page" ] || { fail "$command has no page"; continue; }
  read_page "$page"
  for option in $("$build/vergeset" "$command" --help | grep -oE '^ .*' | grep -oE -e '--[a-z-]+'); do
    holds "$option" "$page"
  done
  for part in NAME SYNOPSIS DESCRIPTION OPTIONS EXAMPLE 'EXIT STATUS' 'SEE ALSO'; do
    grep -q "^$part" "$said" || fail "$page has no $part"
  done
done
read_page "$pages/man1/roadside-sim.1"
for option in $("$build/src/sim/roadside-sim" --help | grep -oE '^ +(-h,)?--[a-z-]+' | grep -oE -e '--[a-z-]+'); do
  holds "$option" roadside-sim.1
done

# keys FILE PAGE...: what the loader of src/fleet/FILE takes stands in one of the pages.
keys() {
  file=$source/src/fleet/$1
  shift
  for page in "$@"; do mandoc -Tutf8 -Owidth=400 "$pages/man5/$page" | col -b; done >"$said"
  words=$(tr '\n' ' ' <"$file" | grep -oE '\.only\([^;]*;' | grep -oE '"[a-z0-9-]+"' | tr -d '"' | sort -u)
  [ -n "$words" ] || fail "no keys are found in $file"
  for word in $words; do
    grep -qE "(^|[^a-z-])$word([^a-z-]|\$)" "$said" || fail "$* lacks the key $word of $file"
  done
}
keys fleet_file.cpp vergeset-fleet.5
keys credential.cpp vergeset-fleet.5
keys units_yaml.cpp vergeset-units.5
keys layer.cpp vergeset-groups.5
[ -z "$failed" ]
