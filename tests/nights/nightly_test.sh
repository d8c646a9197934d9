#!/bin/sh
# A night as systemd would run it: scripts/nightly on two simulated units, by the built programs.
set -eu

if [ "${1:-}" = --help ] || [ $# -ne 3 ]; then
  echo "Usage: nightly_test.sh VERGESET ROADSIDE-SIM FOLDER-FOR-RESULTS"
  [ $# -eq 1 ] && exit 0
  exit 2
fi
vergeset=$1
simulator=$2
work=$3
. "$(dirname "$0")/begin.sh"

cd "$work"
VERGESET_LOCKS=$work/locks
FIRST_AUTH=$(od -An -N12 -tx1 /dev/urandom | tr -d ' \n')
FIRST_PRIV=$(od -An -N12 -tx1 /dev/urandom | tr -d ' \n')
export FIRST_AUTH FIRST_PRIV VERGESET_LOCKS
cp -R "$source/inventories/first" fleet
# On an address of this test's own.
sed -i 's/address: 127.0.0.1 /address: 127.119.0.1 /; s/port: 16100/port: 16119/' fleet/units.yaml
printf 'factory-communities: []\ntimeout: 500 ms\nretries: 1\nkeep: {audits: 2 days, nights: 3 days, logs: 1 day}\n' >>fleet/fleet.yaml

mkdir control out
"$simulator" --fleet fleet --state desired --control control --ready ready --seconds 120 >simulator.log 2>&1 &
sim=$!
trap 'kill "$sim" 2>/dev/null || true' EXIT
waited=0
while [ ! -e ready ]; do
  waited=$((waited + 1))
  if [ "$waited" -gt 200 ] || ! kill -0 "$sim" 2>/dev/null; then
    cat simulator.log >&2
    complain "the simulated unit did not start"
  fi
  sleep 0.1
done

# night EXPECTED-STATUS LINE-OF-THE-SUMMARY
night() {
  status=0
  VERGESET=$vergeset VERGESET_MAIL='cat >mailed.txt' "$source/scripts/nightly" fleet "$work/out" >night.log 2>&1 || status=$?
  [ "$status" -eq "$1" ] || { cat night.log >&2; complain "expected exit status $1, found $status"; }
  grep -q "$2" out/summary.txt || { cat out/summary.txt >&2; complain "the summary does not say: $2"; }
  cmp -s out/summary.txt mailed.txt || complain "the summary was not mailed"
  [ "$(wc -l <out/summary.txt)" -le 5 ] || complain "the summary is longer than five lines"
  for file in report.html fleet.prom audit.xml audit.txt; do
    [ -s "out/$file" ] || complain "there is no $file"
  done
  tail -n 1 out/fleet.prom | grep -q '^# EOF$' || complain "the metrics are not whole"
}

night 0 '1 of 1 unit audited'
# The night before is two days older than the next.
age_audits() {
  for file in fleet/records/audits/*.json; do
    begun=$(sed -n 's/^ "begun": "\(.*\)",$/\1/p' "$file")
    new=$(date -u -d "$begun 1 day ago" +%Y-%m-%dT%H:%M:%S)
    sed -i "s/\"begun\": \"[^\"]*\"/\"begun\": \"$new.000Z\"/; s/\"ended\": \"[^\"]*\"/\"ended\": \"$new.500Z\"/" "$file"
    mv "$file" "fleet/records/audits/$(echo "$new" | tr : -)Z.json"
  done
}
age_audits
"$simulator" tell --control control RSU-1 set rsuNotifyIpAddress 198.51.100.7 >/dev/null
night 3 'drifted: RSU-1 (notify-address)'
age_audits
"$simulator" tell --control control RSU-1 drop 1000 >/dev/null
night 4 'no answer: RSU-1'
age_audits
"$simulator" tell --control control RSU-1 clear >/dev/null
"$simulator" tell --control control RSU-1 set rsuNotifyIpAddress 192.0.2.10 >/dev/null
night 0 'agree again: RSU-1'
age_audits
night 0 'nothing changed since the night before'
grep -q 'audit.* removed\|audit.* cut' night.log || { cat night.log >&2; complain "nothing was thinned"; }

# An audit that cannot be made is a failure, and told.
status=0
FIRST_AUTH='' VERGESET=$vergeset "$source/scripts/nightly" fleet "$work/out" >night.log 2>&1 || status=$?
[ "$status" -eq 2 ] || complain "expected exit status 2 without secrets, found $status"

# Its service names no folder for locks of units, since a night takes none.
[ ! -e "$VERGESET_LOCKS" ] || complain "a night has taken locks of units"
echo "nights: 0 3 4 0 0"
