#!/bin/sh
# The service that listens, as systemd would run it: the command, options and capabilities that its unit gives it, in a
# network namespace of this test's own, where port 162 is free; snmptrap is the unit at the roadside.
set -eu

if [ "${1:-}" = --help ] || [ $# -ne 2 ]; then
  echo "Usage: listen_test.sh VERGESET FOLDER-FOR-RESULTS"
  [ $# -eq 1 ] && exit 0
  exit 2
fi
if [ -z "${ALONE:-}" ]; then
  as_root=
  [ "$(id -u)" -eq 0 ] || as_root=--map-root-user
  exec env ALONE=yes unshare $as_root -n sh -c 'ip link set lo up && exec "$@"' sh "$0" "$@"
fi
vergeset=$1
work=$2
. "$(dirname "$0")/begin.sh"
unit=$source/scripts/vergeset-listen@.service
records=$work/lib/larkmoor/records

mkdir -p "$work/etc/larkmoor" "$work/lib/larkmoor"
cd "$work"
SNMPCONFPATH=/dev/null
SNMP_PERSISTENT_DIR=$work/net-snmp
MIBS=''
export SNMPCONFPATH SNMP_PERSISTENT_DIR MIBS

engine=80001f88044c4b2d313031
cat >etc/larkmoor/fleet.yaml <<'END'
fleet: Larkmoor street
credentials:
  street: {user: vergeset, auth-secret: {env: STREET_AUTH}, privacy-secret: {env: STREET_PRIV}}
credential: street
keep: {logs: 1 day}
timeout: 200 ms
retries: 0
END
cat >etc/larkmoor/units.yaml <<END
units:
  LK-101: {address: 127.147.0.1, model: ntcip1218-v01, engine-id: "$engine"}
END

# told_by KEY: what the unit says of it.
told_by() {
  sed -n "s/^$1=//p" "$unit"
}
[ "$(told_by AmbientCapabilities)" = "$(told_by CapabilityBoundingSet)" ] || complain "ambient and bounding capabilities differ"
capability=$(told_by AmbientCapabilities | tr '[:upper:]' '[:lower:]' | sed 's/^cap_//')
signal=$(told_by KillSignal | sed 's/^SIG//')
[ -n "$capability" ] || complain "the unit gives no capability"
command=$(told_by ExecStart | sed "s:%i:larkmoor:g; s:^/usr/bin/vergeset :$vergeset :; s: /etc/vergeset/: $work/etc/:; s: /var/lib/vergeset/: $work/lib/:")

# start CAPABILITIES: the command of the unit, with as much as that and no more. This user's number stays 0, which
# without its privileges (noroot) is one as any other.
start() {
  (
    export VERGESET_LOCKS="$work/locks"
    LISTEN_OPTIONS=$(sed -n 's/^Environment=LISTEN_OPTIONS=//p' "$unit")
    set -a
    . "$work/etc/larkmoor.env"
    set +a
    export LISTEN_OPTIONS
    umask "$(told_by UMask)"
    exec setpriv --securebits +noroot --inh-caps "$1" --ambient-caps "$1" --bounding-set "$1" --no-new-privs \
      sh -c "exec $command"
  ) >said 2>&1 &
  listening=$!
}
trap 'kill "$listening" 2>/dev/null || true' EXIT

# within WHAT COMMAND...: until it succeeds, for ten seconds.
within() {
  what=$1
  shift
  waited=0
  until "$@"; do
    waited=$((waited + 1))
    if [ "$waited" -gt 200 ] || ! kill -0 "$listening" 2>/dev/null; then complain "$what"; fi
    sleep 0.05
  done
}
# ended STATUS: by itself, within ten seconds.
ended() {
  status=0
  waited=0
  while kill -0 "$listening" 2>/dev/null; do
    waited=$((waited + 1))
    if [ "$waited" -gt 200 ]; then
      kill -s KILL "$listening"
      complain "it does not end"
    fi
    sleep 0.05
  done
  wait "$listening" || status=$?
  [ "$status" -eq "$1" ] || complain "it ended with $status instead of $1"
}
trap_to() {
  snmptrap --clientaddr=127.147.0.1 -v3 -e "0x$engine" -l authPriv -u vergeset -a SHA-256 -A 'of oak and ash' -x AES \
    -X 'of elm and yew' "127.0.0.1:$1" '' 1.3.6.1.6.3.1.1.5.3 1.3.6.1.2.1.2.2.1.1.3 i "$2" 2>>snmptrap.txt
}
log_has() {
  grep -q "$1" "$records/units/LK-101.log" 2>/dev/null
}

printf 'STREET_AUTH="of oak and ash"\nSTREET_PRIV="of elm and yew"\n' >etc/larkmoor.env

# By the unit's own options: port 162, with the capability for it and without another.
start "-all,+$capability"
within "it does not listen at port 162" grep -q 'listening on .*:162 ' said
[ "$(sed -n 's/^CapEff:\t*//p' "/proc/$listening/status")" = 0000000000000400 ] || complain "it has other capabilities"
trap_to 162 3
within "the trap is not in the unit's log" log_has 'linkDown.* ifIndex.3 = 3'
[ "$(stat -c %a "$records")" = 700 ] || complain "others may look into the records"
[ "$(stat -c %a "$records/units/LK-101.log")" = 600 ] || complain "others may read the log"
# The nightly service works with the same records meanwhile.
"$vergeset" thin --fleet etc/larkmoor --records "$records" >thinned 2>&1 || complain "records are not thinned: $(cat thinned)"
trap_to 162 4
within "the log ends where the records were thinned" log_has 'linkDown.* ifIndex.3 = 4'
kill -s "$signal" "$listening"
ended 0

# By other options from the .env file, which come in place of the unit's; audits, and no capability.
echo 'LISTEN_OPTIONS="--port 10162 --address 127.0.0.1 --audit --audit-after 1"' >>etc/larkmoor.env
start -all
within "it does not listen where it was told to" grep -q 'listening on 127.0.0.1:10162 ' said
trap_to 10162 5
within "the trap is not in the unit's log" log_has 'linkDown.* ifIndex.3 = 5'
within "the unit was not audited" grep -q 'LK-101  audit: no answer' said
kill -s "$signal" "$listening"
ended 0
[ -n "$(ls "$records/audits")" ] || complain "the audit is not on record"

# What it cannot do is a matter for a person, and not for starting it over and over.
echo 'LISTEN_OPTIONS=' >>etc/larkmoor.env
start -all
ended "$(told_by RestartPreventExitStatus)"
grep -q 162 said || complain "it does not say which port it cannot have"
[ ! -e locks ] || complain "it has taken locks of units, for which its unit names no folder"
