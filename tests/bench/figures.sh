# The figures of scripts/bench, one function each, and what they share. Sourced behind measuring.sh.
#
# Each is measured in this run or told as not measured. Ours and the floor are run by turns, and the medians are
# compared; an audit and its floor must have sent the same number of datagrams, by the kernel's count.

vergeset=$build/vergeset
floor=$build/tests/bench/bench_floor
record=$build/tests/bench/bench_record_requests
records=$work/records
fleets=$work/fleets
# As many units at once as vergeset takes by itself.
at_once=$("$vergeset" audit --help | sed -n 's/.*--at-once N .*(default: \([0-9]*\)).*/\1/p')

# The secrets of this run: new each time, known to its children alone.
secret() { od -An -N12 -tx1 /dev/urandom | tr -d ' \n'; }
LARKMOOR_AUTH=$(secret)
LARKMOOR_PRIV=$(secret)
SNMPCONFPATH=$work/snmp
SNMP_PERSISTENT_DIR=$work/snmp/kept
MIBS=
export LARKMOOR_AUTH LARKMOOR_PRIV SNMPCONFPATH SNMP_PERSISTENT_DIR MIBS
mkdir -p -m 700 "$work/snmp/kept/cert_indexes"
(
  umask 077
  cat >"$work/snmp/snmp.conf" <<EOT
defVersion 3
defSecurityName vergeset
defSecurityLevel authPriv
defAuthType SHA-256
defAuthPassphrase $LARKMOOR_AUTH
defPrivType AES
defPrivPassphrase $LARKMOOR_PRIV
EOT
)

# ---- units ----

# fleet NAME OPTIONS...: makes $fleets/NAME.
fleet() {
  name=$1
  shift
  "$source/tests/bench/make-fleet" "$fleets/$name" "$@"
}

# The unit that requests are recorded on, and the one with twenty rows, have numbers beyond all others.
recorded_unit=$((many + 1))
deep_unit=$((many + 2))

# serve NAME: simulated units of that fleet, which agree with its files.
serve() {
  start "units-$1" "$build/src/sim/roadside-sim" --fleet "$fleets/$1" --state desired --transition 0 --stay \
    --ready "$work/units-$1.ready" --seconds 3600
  wait_for "$work/units-$1.ready" "$started" 600
}

# once NAME: true the first time.
once() {
  [ ! -e "$work/once-$1" ] && : >"$work/once-$1"
}

# What several figures rest on is marked as wrong until it was measured without trouble.
begin_base() {
  : >"$work/wrong-$1"
  wrong_before=$wrong
  wrong=
}
end_base() {
  [ -n "$wrong" ] || rm "$work/wrong-$1"
  wrong=$wrong$wrong_before
}
rests_on() { [ ! -e "$work/wrong-$1" ] || wrong=yes; }

both_fleets() {
  once fleets || return 0
  fleet many --units "$many"
  fleet few --units "$few"
}

units_are_up() {
  both_fleets
  once units || return 0
  say "starting $((many + 1)) simulated units"
  fleet all --units $((many + 1))
  serve all
}

deep_unit_is_up() {
  once deep || return 0
  fleet deep --first "$deep_unit" --rows 20
  fleet deep-relayed --first "$deep_unit" --rows 20 --behind 1
  serve deep
}

# ---- what is asked ----

# units_of FLEET: its units as the floor reads them.
units_of() { tail -n +2 "$fleets/$1/units.csv" | awk -F, '{ print $3, 16161 }'; }

# The requests of an audit, recorded on a unit whose engine is known.
requests_are_recorded() {
  once requests || return 0
  fleet recorded --first "$recorded_unit"
  for contact in first known; do
    "$record" audit "$fleets/recorded" "$records/recorded" "$work/requests-audit"
  done
  echo OPEN >"$work/requests-none"
}

# The engines of the small fleet, as the floor keeps them.
engines_are_known() {
  once engines || return 0
  units_of few >"$work/units-few"
  "$floor" --units "$work/units-few" --requests "$work/requests-none" --discoveries 1 \
    --engines "$work/engines-few" >/dev/null
}

# requests_a_unit LABEL: by the kernel's count, in which each has an answer.
requests_a_unit() { calc "$(median "$1" $sent) / 2 / $few"; }

# find_discoveries LABEL REQUESTS: how many requests ours sends to each unit beyond the recorded ones: it asks for
# the engine that often. In $discoveries.
find_discoveries() {
  discoveries=$(calc "$(requests_a_unit "$1") - $(grep -vc '^OPEN' "$2")")
  case $discoveries in
    [0-9]) ;;
    *)
      trouble "$1 sends $discoveries requests a unit more than were recorded; the floor sends the recorded ones"
      discoveries=0
      ;;
  esac
}

# floor_run LABEL REQUESTS DISCOVERIES
floor_run() {
  of=$work/engines-few
  [ "$3" = 0 ] || of=$work/units-few
  cost "$1" "$floor" --units "$of" --requests "$2" --discoveries "$3" --at-once "$at_once"
}

# sent_the_same OURS FLOOR: trouble where the kernel counted another number of datagrams.
sent_the_same() {
  [ "$(each_of "$1" $sent)" = "$(each_of "$2" $sent)" ] ||
    trouble "$1: $(each_of "$1" $sent)datagrams, answers included; $2: $(each_of "$2" $sent)"
}

# ---- the audit of the small fleet: ours and floor by turns ----

audit() {
  label=$1
  shift
  cost "$label" "$vergeset" audit "$@"
}

audits_few() {
  if ! once audits-few; then
    rests_on few
    return 0
  fi
  begin_base few
  units_are_up
  requests_are_recorded
  engines_are_known
  say "auditing $few units"
  for turn in 1 2 3; do
    audit audit-few-first-contact --fleet "$fleets/few" --records "$records/few-$turn"
    floor_run floor-few-first-contact "$work/requests-audit" 1
  done
  expect_status audit-few-first-contact 0
  audit audit-few --fleet "$fleets/few" --records "$records/few-1"
  find_discoveries audit-few "$work/requests-audit"
  for turn in 1 2 3 4 5; do
    floor_run floor-few "$work/requests-audit" "$discoveries"
    [ "$turn" = 5 ] || audit audit-few --fleet "$fleets/few" --records "$records/few-1"
  done
  expect_status audit-few 0
  expect_status floor-few 0
  sent_the_same audit-few floor-few
  end_base few
  note "audit of $few units: $(requests_a_unit audit-few) requests a unit, $discoveries of them for its engine"
}

# compare NAME OURS THEIRS ...: a row of two times, as tell.
compare() {
  name=$1
  ours=$2
  theirs=$3
  shift 3
  tell "$name" "$(seconds "$ours")" "$(seconds "$theirs")" "$@"
}

figure_floor() {
  audits_few
  ours=$(median audit-few $cpu)
  theirs=$(median floor-few $cpu)
  compare "audit of $few, CPU, ours / floor" "$ours" "$theirs" "$(calc "$ours / $theirs")" at-most 1.5
  first=$(calc "$(median audit-few-first-contact $cpu) / $(median floor-few-first-contact $cpu)")
  note "at first contact: $(short_number "$first") times the floor's CPU"
}

# What recorded requests read. A line is `GET NAME...` or `BULK ONCE REPETITIONS NAME...`, of which the first ONCE
# are asked for without the .0 that the answer has.
scalars_of() {
  awk '$1 == "GET" { for (i = 2; i <= NF; i++) print $i }
    $1 == "BULK" { for (i = 4; i < 4 + $2; i++) print $i ".0" }' "$1"
}
# Its columns are those that are named from the top of a table.
entry_of() {
  awk '$1 == "BULK" { for (i = 4 + $2; i <= NF; i++) print $i }' "$1" |
    awk '{ entry = $0; sub(/[.][0-9]+$/, "", entry); if (least == "" || length(entry) < length(least)) least = entry }
      END { print least }'
}

# The scalars by one snmpget and the table by one snmpbulkwalk for each unit: all of its columns are wanted.
figure_loop() {
  audits_few
  say "the loop over $few units"
  scalars=$(scalars_of "$work/requests-audit" | tr '\n' ' ')
  entry=$(entry_of "$work/requests-audit")
  [ -n "$scalars" ] && [ -n "$entry" ] || trouble "the recorded requests name no scalar or no column"
  sed 's/ /:/' "$work/units-few" >"$work/hosts-few"
  cat >"$work/loop" <<EOT
set -e
xargs -P 16 -I@ snmpget -m '' -On @ $scalars <"$work/hosts-few" >/dev/null
xargs -P 16 -I@ snmpbulkwalk -m '' -On @ $entry <"$work/hosts-few" >/dev/null
EOT
  cost loop sh "$work/loop"
  expect_status loop 0
  loop_wrong=$wrong
  for of in cpu wall; do
    wrong=$loop_wrong
    eval "at=\$$of"
    words=CPU target=50
    [ $of = cpu ] || words=wall target=10
    ours=$(median audit-few "$at")
    theirs=$(median loop "$at")
    compare "audit of $few, $words, loop / ours" "$ours" "$theirs" "$(calc "$theirs / $ours")" at-least $target
  done
}

# ---- the large fleet ----

audits_many() {
  if ! once audits-many; then
    rests_on many
    return 0
  fi
  begin_base many
  units_are_up
  say "auditing $many units"
  audit audit-many-first-contact --fleet "$fleets/many" --records "$records/many"
  # As often as the small fleet.
  for turn in 1 2 3 4 5; do
    audit audit-many --fleet "$fleets/many" --records "$records/many"
  done
  expect_status audit-many 0
  end_base many
}

audits_of_both() {
  audits_few
  audits_many
}

# growth_of WORDS FIELD
growth_of() {
  audits_of_both
  large=$(median audit-many "$2")
  small=$(median audit-few "$2")
  compare "audit, $1, $many units / $few" "$large" "$small" "$(calc "$large / $small")" at-most 10.5
}

figure_growth() {
  growth_of CPU $cpu
  growth_of wall $wall
}

# The page of many units and 92 nights, in headless Chromium; the peer is a table of their names and how they stand
# and nothing else, as one would write it by hand.
figure_page() {
  say "making and opening the page of $many units"
  "$source/tests/page/make_records.py" "$work/page" "$many" 92 2026-11-26T06:00:00Z >"$work/page.told"
  cost page "$vergeset" report --fleet "$work/page" --page "$work/page.html" --nights 92 --until 2026-11-26T06:00:00Z
  expect_status page 0
  "$source/tests/bench/open_page" "$work/page.html" "$work/page.told" "$work/table.html" 5 >"$work/page.opened"
  read -r ours peer <"$work/page.opened"
  tell "page of $many units opens, s" "$(seconds "$ours")" "$(seconds "$peer")" "$ours" at-most 2 \
    "$(short_number "$(calc "$ours / $peer")")"
  in_mb=$(calc "$(stat -c %s "$work/page.html") / 1000000")
  peer_mb=$(calc "$(stat -c %s "$work/table.html") / 1000000")
  tell "its size, MB" "$(short_number "$in_mb")" "$(short_number "$peer_mb")" "$in_mb" at-most 10 \
    "$(short_number "$(calc "$in_mb / $peer_mb")")"
}
figure_memory() {
  audits_of_both
  large=$(most audit-many $memory)
  small=$(most audit-few $memory)
  in_mb=$(calc "$large * 1.024 / 1000")
  tell "peak memory at $many units, MB" "$(short_number "$in_mb")" - "$in_mb" at-most 60 -
  audits_of_both
  each=$(calc "($large - $small) * 1.024 / ($many - $few)")
  tell "memory of each further unit, KB" "$(short_number "$each")" - "$each" at-most 6 -
}

figure_files() {
  both_fleets
  say "checking the files of $many units"
  for turn in 1 2 3; do
    cost check-many "$vergeset" check --fleet "$fleets/many"
    cost check-few "$vergeset" check --fleet "$fleets/few"
  done
  expect_status check-many 0
  expect_status check-few 0
  files_wrong=$wrong
  large=$(median check-many $cpu)
  small=$(median check-few $cpu)
  tell "files of $many units checked, CPU, s" "$(seconds "$large")" - "$large" at-most 1.0 -
  wrong=$files_wrong
  compare "the same, $many units / $few" "$large" "$small" "$(calc "$large / $small")" at-most 10.5
}

# ---- over a worse network ----

# relay NAME OPTIONS...: in front of the units of $work/pairs-NAME; its id is in $relay.
relay() {
  name=$1
  shift
  rm -f "$work/relay-$name.ready" "$work/relay-$name.log"
  start "relay-$name" "$build/tests/relay/relay" --pairs "$work/pairs-$name" --seconds 3600 \
    --ready "$work/relay-$name.ready" "$@"
  relay=$started
  wait_for "$work/relay-$name.ready" "$relay" 10
}

# counts NAME FIELD: of the relay since it was asked last. The line holds words and numbers by turns.
relay_counts() {
  lines=$(wc -l <"$work/relay-$1.log")
  kill -USR1 "$relay"
  while [ "$(wc -l <"$work/relay-$1.log")" -eq "$lines" ]; do sleep 0.05; done
  tail -n 1 "$work/relay-$1.log" >"$work/counts"
}
count_of() { awk -v of="$1" '{ for (i = 1; i < NF; i += 2) if ($i == of) print $(i + 1) }' "$work/counts"; }

deep_pairs() {
  deep_unit_is_up
  address=$(units_of deep)
  echo "$(units_of deep-relayed) $address" >"$work/pairs-deep"
}

walk_of_the_model() {
  root=$(sed -n 's/^root: //p' "$source/schemas/ntcip1218-v01.yaml")
  cost "$1" snmpbulkwalk -m '' -On "$(units_of deep-relayed | tr ' ' :)" "$root"
  expect_status "$1" 0
}

figure_trips() {
  deep_pairs
  delay=80
  say "an audit at $delay ms each way"
  relay deep --delay $delay
  trips() { calc "int($(count_of span-ms) / (2 * $delay) + 0.5)"; }
  walk_of_the_model bulkwalk-far
  relay_counts deep
  # It sends one request at a time.
  theirs=$(count_of requests)
  note "snmpbulkwalk at $delay ms each way: $(count_of requests) requests, $(count_of span-ms) ms"
  walk_wrong=$wrong
  for contact in first known; do
    wrong=$walk_wrong
    audit "audit-far-$contact" --fleet "$fleets/deep-relayed" --records "$records/deep"
    expect_status "audit-far-$contact" 0
    relay_counts deep
    ours=$(trips)
    words="first contact" target=6
    [ $contact = first ] || words="engine id known" target=4
    ratio=$(short_number "$(calc "$ours / $theirs")")
    tell "round trips, $words" "$ours" "$theirs" "$ours" at-most $target "$ratio"
    note "audit at $delay ms each way, $words: $(count_of requests) requests, $(count_of span-ms) ms"
  done
  end "$relay"
}

figure_octets() {
  deep_pairs
  say "an audit at 64 kbit/s"
  relay deep --delay 80 --rate 64 --queue 100
  octets() { calc "$(count_of request-octets) + $(count_of answer-octets)"; }
  walk_of_the_model bulkwalk-slow
  relay_counts deep
  theirs=$(octets)
  note "snmpbulkwalk at 64 kbit/s: $(count_of requests) requests, $(count_of span-ms) ms"
  audit audit-slow --fleet "$fleets/deep-relayed" --records "$records/deep-slow"
  expect_status audit-slow 0
  relay_counts deep
  ours=$(octets)
  note "audit at 64 kbit/s, first contact: $(count_of requests) requests, $(count_of span-ms) ms"
  tell "octets at 64 kbit/s, ours / bulkwalk" "$ours" "$theirs" "$(calc "$ours / $theirs")" at-most 0.5
  end "$relay"
}

# ---- a change ----

figure_apply() {
  audits_few
  say "changing $few units"
  fleet few-b --units "$few" --variant b
  fleet recorded-b --first "$recorded_unit" --variant b
  "$record" apply "$fleets/recorded-b" "$records/recorded" "$work/requests-to-b"
  "$record" apply "$fleets/recorded" "$records/recorded" "$work/requests-to-a"
  discoveries=
  for turn in 1 2; do
    for to in b a; do
      of=few
      [ $to = a ] || of=few-b
      cost apply-few "$vergeset" apply --yes --why bench --fleet "$fleets/$of" --records "$records/few-1"
      [ -n "$discoveries" ] || find_discoveries apply-few "$work/requests-to-b"
      floor_run floor-apply "$work/requests-to-$to" "$discoveries"
    done
  done
  expect_status apply-few 0
  expect_status floor-apply 0
  sent_the_same apply-few floor-apply
  ours=$(median apply-few $cpu)
  theirs=$(median floor-apply $cpu)
  compare "apply to $few, CPU, ours / floor" "$ours" "$theirs" "$(calc "$ours / $theirs")" at-most 2
  sets=$(grep -c '^SET' "$work/requests-to-b")
  note "apply to $few units: $(requests_a_unit apply-few) requests a unit, $sets SETs, $discoveries for its engine"
}

# ---- dead units ----

# Every twentieth unit stands behind a relay that passes all at first, so that its engine is known, and nothing
# later.
figure_dead() {
  every=20
  audits_many
  dead=$((many / every))
  say "$dead of $many units die"
  fleet behind --units "$many" --behind $every
  awk -F, '/behind/ { live = $3; sub(/\.78\./, ".77.", live); print $3, 16161, live, 16161 }' \
    "$fleets/behind/units.csv" >"$work/pairs-dead"
  relay dead
  audit audit-before-death --fleet "$fleets/behind" --records "$records/many" --group behind
  expect_status audit-before-death 0
  for one in 1 2 3 4 5; do
    fleet "alone-$one" --first $((one * every)) --behind $every
    audit alone-before-death --fleet "$fleets/alone-$one" --records "$records/alone-$one"
  done
  expect_status alone-before-death 0
  end "$relay"

  relay dead --loss 100
  alone=
  for one in 1 2 3 4 5; do
    "$measure" "$work/alone-$one" "$vergeset" audit --fleet "$fleets/alone-$one" \
      --records "$records/alone-$one" >/dev/null 2>&1 &
    alone="$alone $!"
  done
  for one in $alone; do wait "$one" || true; done
  ladder=$(cat "$work"/alone-[1-5] | cut -d' ' -f1 | sort -n | tail -n 1)
  [ "$(cat "$work"/alone-[1-5] | cut -d' ' -f4 | sort -u)" = 4 ] ||
    trouble "a dead unit alone did not end with exit status 4"
  for turn in 1 2 3; do
    audit audit-many-dead --fleet "$fleets/behind" --records "$records/many"
  done
  expect_status audit-many-dead 4
  end "$relay"
  alive=$(median audit-many $wall)
  ours=$(median audit-many-dead $wall)
  allowed=$(calc "$alive + $ladder")
  compare "$dead of $many dead, wall / allowed" "$ours" "$allowed" "$(calc "$ours / $allowed")" at-most 1
  note "allowed with $dead dead: $(seconds "$alive") as with all alive, and $(seconds "$ladder") as for one dead unit \
alone, the largest of five"
}
