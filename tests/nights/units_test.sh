#!/bin/sh
# What systemd itself says of the units in scripts/: that they are well formed, and how far each service is shut in.
set -eu

if [ "${1:-}" = --help ] || [ $# -ne 1 ]; then
  echo "Usage: units_test.sh FOLDER-FOR-RESULTS"
  [ $# -eq 1 ] && exit 0
  exit 2
fi
work=$1
. "$(dirname "$0")/begin.sh"

cd "$work"
cp "$source"/scripts/vergeset-*@.* .
# As installed, but that the programs need not be: systemd-analyze asks that there is one to run.
sed -i 's:^ExecStart=[^ ]*:ExecStart=/bin/true:' ./*.service
systemd-analyze verify --man=no ./*.service ./*.timer >verified.txt 2>&1 || { cat verified.txt >&2; complain "a unit is not well formed"; }
# A slip in a key is told, and ends with 0.
[ ! -s verified.txt ] || { cat verified.txt >&2; complain "systemd passes over part of a unit"; }

for unit in vergeset-nightly vergeset-listen; do
  service=$unit@.service
  # 0 is most, 10 least.
  systemd-analyze security --offline=yes "$service" >exposure.txt
  exposure=$(sed -n 's/.*Overall exposure level for .*: \([0-9.]*\) .*/\1/p' exposure.txt)
  [ -n "$exposure" ] || { cat exposure.txt >&2; complain "systemd-analyze told no exposure of $unit"; }
  awk -v found="$exposure" 'BEGIN { exit !(found <= 2.0) }' || complain "the exposure of $unit is $exposure, above 2.0"
  # One user, and one folder of records, whoever of both is asked.
  for line in 'User=vergeset' 'Group=vergeset' 'StateDirectory=vergeset/%i' 'UMask=0077' \
    'EnvironmentFile=-/etc/vergeset/%i.env' 'ConditionPathExists=/etc/vergeset/%i/fleet.yaml' 'NoNewPrivileges=yes'; do
    grep -q "^$line\$" "$service" || complain "$unit lacks $line"
  done
  grep '^ExecStart=' "$source/scripts/$service" | grep -q ' /var/lib/vergeset/%i/records' ||
    complain "$unit keeps its records elsewhere"
  echo "exposure of $unit: $exposure"
done
set -- ./*.service
[ $# -eq 2 ] || complain "a service is not looked at here"

# No capability at night, and one to listen; in a user namespace of its own that would be worth nothing.
grep -q '^CapabilityBoundingSet=$' vergeset-nightly@.service || complain "the nightly service has capabilities"
for line in CapabilityBoundingSet=CAP_NET_BIND_SERVICE AmbientCapabilities=CAP_NET_BIND_SERVICE Restart=on-failure \
  RestartPreventExitStatus=2; do
  grep -q "^$line\$" vergeset-listen@.service || complain "the service that listens lacks $line"
done
if grep -q '^PrivateUsers=' vergeset-listen@.service; then complain "the service that listens cannot open port 162"; fi
systemd-analyze calendar "$(sed -n 's/^OnCalendar=//p' vergeset-nightly@.timer)" >/dev/null
