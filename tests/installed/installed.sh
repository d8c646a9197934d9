#!/bin/sh
# usage: installed.sh BUILD. Installs into a scratch prefix, below another root, and runs what stands there with an
# empty environment, in a network of its own.
set -eu

build=$1
. "$(dirname "$0")/scratch.sh"

DESTDIR=$scratch/root cmake --install "$build" --prefix /opt/vergeset >/dev/null
at=$scratch/root/opt/vergeset
for file in bin/vergeset bin/roadside-sim share/vergeset/schemas/common.yaml share/vergeset/schemas/mibs/SNMPv2-SMI.txt \
  share/man/man1/vergeset.1 share/man/man1/vergeset-apply.1 share/man/man1/roadside-sim.1 share/man/man5/vergeset-fleet.5 \
  share/bash-completion/completions/vergeset share/zsh/site-functions/_vergeset \
  share/fish/vendor_completions.d/vergeset.fish share/doc/vergeset/README.md share/doc/vergeset/LICENSE \
  libexec/vergeset/vergeset-nightly lib/systemd/system/vergeset-nightly@.service lib/systemd/system/vergeset-nightly@.timer \
  lib/systemd/system/vergeset-listen@.service lib/sysusers.d/vergeset.conf \
  share/doc/vergeset/examples/first/fleet.yaml share/doc/vergeset/examples/larkmoor/fleet.yaml; do
  [ -f "$at/$file" ] || fail "$file was not installed"
done
grep -q '^ExecStart=/opt/vergeset/libexec/vergeset/vergeset-nightly ' "$at/lib/systemd/system/vergeset-nightly@.service" ||
  fail "the nightly service names another script than the one that was installed"
grep -q '^ExecStart=/opt/vergeset/bin/vergeset listen ' "$at/lib/systemd/system/vergeset-listen@.service" ||
  fail "the service that listens names another program than the one that was installed"
# Nothing of the tests, of Catch2, or of what was made in place.
stray=$(find "$scratch/root" \( -iname '*catch*' -o -name 'test_*' -o -name '*.a' -o -name '*.h' -o -name records -o -name keys \))
[ -z "$stray" ] || fail "installed, and should not be: $stray"

as_root=
[ "$(id -u)" -eq 0 ] || as_root=--map-root-user
alone() {
  unshare $as_root -n sh -c 'ip link set lo up && exec "$@"' sh env -i TMPDIR="$scratch" "$@" </dev/null
}
works() {
  alone "$1/bin/vergeset" self-test >"$scratch/said" 2>&1 || fail "$(cat "$scratch/said")"
  # Its own models, not those of the source tree.
  alone "$1/bin/vergeset" self-test --json >"$scratch/said" 2>&1 || fail "$(cat "$scratch/said")"
  grep -q " in $1/share/vergeset/schemas\"" "$scratch/said" || fail "$(cat "$scratch/said")"
  alone "$1/bin/vergeset" check --fleet "$1/share/doc/vergeset/examples/larkmoor" >/dev/null
  # A night finds the program beside itself. It has no secrets, and ends with 2.
  mkdir -p "$scratch/out"
  told=0
  alone PATH=/usr/bin:/bin "$1/libexec/vergeset/vergeset-nightly" "$1/share/doc/vergeset/examples/first" "$scratch/out" \
    "$scratch/records" >"$scratch/said" 2>&1 || told=$?
  [ "$told" -eq 2 ] || fail "a night ended with $told: $(cat "$scratch/said")"
}
works "$at"
mv "$at" "$scratch/elsewhere"
works "$scratch/elsewhere"
left=$(find "$scratch" -maxdepth 1 -name 'vergeset-self-test.*')
[ -z "$left" ] || fail "the self-test left $left"

# It tells what is missing, and fails, where it does not work.
rm "$scratch/elsewhere/bin/roadside-sim"
if alone "$scratch/elsewhere/bin/vergeset" self-test >"$scratch/said" 2>&1; then fail "a self-test without a simulator held"; fi
grep -q "simulated unit *fails" "$scratch/said" || fail "$(cat "$scratch/said")"

# Told to end, it ends after the step in hand, and its folder goes.
alone timeout --preserve-status -s TERM 0.1 "$build/vergeset" self-test >"$scratch/said" 2>&1 && fail "a self-test that was told to end went on"
left=$(find "$scratch" -maxdepth 1 -name 'vergeset-self-test.*')
[ -z "$left" ] || fail "a self-test that was told to end left $left"
