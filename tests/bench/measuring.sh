# How scripts/bench measures and tells: what a command costs, processes beside it, the table. Sourced; $work,
# $build, $source, $many and $few are set.

say() { echo "bench: $*" >&2; }

# ---- what a command costs ----

measure=$build/tests/bench/bench_measure

# All UDP datagrams that left a socket of this namespace: requests and answers.
datagrams() { awk '$1 == "Udp:" && $5 ~ /^[0-9]+$/ { print $5 }' /proc/net/snmp; }

# cost LABEL COMMAND...: runs it and adds a line to the account LABEL: wall, CPU, memory in kB, exit status,
# datagrams. Its output goes beside. Always succeeds: expect_status looks at what became of it.
cost() {
  label=$1
  shift
  before=$(datagrams)
  rm -f "$work/cost/last"
  "$measure" "$work/cost/last" "$@" >"$work/cost/$label.out" 2>"$work/cost/$label.err" || true
  echo "$(cat "$work/cost/last") $(($(datagrams) - before))" >>"$work/cost/$label"
}

column() { cut -d' ' -f"$2" "$work/cost/$1" | sort -n; }
median() {
  column "$1" "$2" |
    awk '{ v[NR] = $1 } END { print NR % 2 ? v[(NR + 1) / 2] : (v[NR / 2] + v[NR / 2 + 1]) / 2 }'
}
each_of() { column "$1" "$2" | uniq | tr '\n' ' '; }
most() { column "$1" "$2" | tail -n 1; }
calc() { awk "BEGIN { print $* }"; }

# Columns of an account.
wall=1
cpu=2
memory=3
status=4
sent=5

# expect_status LABEL STATUS: trouble where any run of it ended otherwise.
expect_status() {
  [ "$(each_of "$1" $status)" = "$2 " ] || {
    said=$(cat "$work/cost/$1.err" "$work/cost/$1.out" | tail -n 1)
    trouble "$1: exit status $(each_of "$1" $status)instead of $2: $said"
  }
}

# ---- processes beside it ----

# start NAME COMMAND...: in the background; its id is in $started, and in a file, since figures run in subshells.
start() {
  log=$work/$1.log
  shift
  "$@" >>"$log" 2>&1 &
  started=$!
  echo "$started" >>"$work/beside"
}

gone() { ! kill -0 "$1" 2>/dev/null || [ "$(cut -d' ' -f3 "/proc/$1/stat" 2>/dev/null)" = Z ]; }

# end PID: and waits until it is gone. One that does not heed is killed after ten seconds; its children go with it.
end() {
  kill "$1" 2>/dev/null || return 0
  waited=0
  until gone "$1"; do
    waited=$((waited + 1))
    [ "$waited" -ne 200 ] || kill -KILL "$1" 2>/dev/null || true
    sleep 0.05
  done
}

end_all() {
  if [ -e "$work/beside" ]; then
    for process in $(cat "$work/beside"); do end "$process"; done
  fi
  rm -rf "$work/snmp" "$work.last".*
}

# wait_for FILE PID SECONDS
wait_for() {
  waited=0
  while [ ! -e "$1" ]; do
    waited=$((waited + 1))
    if [ "$waited" -gt $(($3 * 10)) ] || ! kill -0 "$2" 2>/dev/null; then
      say "what should write $1 did not start; see the logs in $work"
      exit 1
    fi
    sleep 0.1
  done
}

# ---- the table ----

row() { printf '%-36s %8s %8s %6s %7s %-5s\n' "$@" | sed 's/ *$//'; }

table_head() {
  : >"$work/table"
  : >"$work/notes"
  row figure ours peer ratio target '' | tee "$work/head"
}

# trouble TEXT: what speaks against the figure at hand, which falls short whatever its number.
wrong=
trouble() {
  wrong=yes
  note "$1"
}
note() { printf '%s\n' "$1" | fold -s -w 76 | sed 's/ *$//' >>"$work/notes"; }

# tell NAME OURS PEER VALUE at-most|at-least TARGET [SHOWN-RATIO]: the row of a figure. VALUE is compared with
# TARGET, and shown as the ratio unless something else is to be.
tell() {
  verdict=short
  sign='>='
  [ "$5" = at-least ] || sign='<='
  if [ -z "$wrong" ] && holds "$4" "$sign" "$6"; then verdict=holds; fi
  row "$1" "$2" "$3" "${7-$(short_number "$4")}" "$sign$6" "$verdict" | tee -a "$work/table"
  wrong=
}

# holds VALUE SIGN TARGET: false also where VALUE is no number.
holds() {
  awk -v value="$1" -v sign="$2" -v target="$3" 'BEGIN {
    if (value !~ /^[0-9]+([.][0-9]+)?(e[-+][0-9]+)?$/) exit 1
    exit !(sign == "<=" ? value + 0 <= target + 0 : value + 0 >= target + 0)
  }'
}

# run_figure NAME: in a subshell, so that one that cannot be measured is told as such and the next ones go on.
run_figure() {
  set +e
  (
    set -e
    "figure_$1"
  )
  ended=$?
  set -e
  [ "$ended" -eq 0 ] || row "$1: not measured" '' '' '' '' short | tee -a "$work/table"
}

short_number() {
  awk -v n="$1" 'BEGIN { if (n !~ /^[0-9.e+-]+$/) print "?"; else printf n < 10 ? "%.2f" : "%.1f", n }'
}
seconds() { awk -v n="$1" 'BEGIN { printf n < 10 ? "%.3f s" : "%.1f s", n }'; }

# spread LABEL: a line of the runs of an account, CPU and wall from the least to the most.
range() { column "$1" "$2" | awk 'NR == 1 { least = $1 } END { printf "%.3f - %.3f", least, $1 }'; }
spread() {
  printf '%-28s %4d  %-18s  %-18s\n' "$1" "$(column "$1" $cpu | wc -l)" "$(range "$1" $cpu)" "$(range "$1" $wall)" |
    sed 's/ *$//'
}

machine() {
  model=$(sed -n 's/^model name[^:]*: //p' /proc/cpuinfo | head -n 1)
  compiler=$(sed -n 's/^CMAKE_CXX_COMPILER:[A-Z]*=//p' "$build/CMakeCache.txt")
  flavour=$(sed -n 's/^CMAKE_BUILD_TYPE:[A-Z]*=//p' "$build/CMakeCache.txt")
  echo "$(date -u +%Y-%m-%d), $("$build/vergeset" --version), $flavour build of \
$(git -C "$source" describe --always --dirty 2>/dev/null || echo "unknown source")"
  echo "${model:-$(uname -m)}, $(nproc) cores, $(awk '/^MemTotal/ { printf "%.1f GB", $2 / 1e6 }' /proc/meminfo)"
  echo "Linux $(uname -r), $("$compiler" --version | head -n 1)"
  echo "net-snmp: library $(pkg-config --modversion netsnmp), commands $(snmpget -V 2>&1 | sed 's/.*: //')"
}

# write_report FILE
write_report() {
  {
    machine | fold -s -w 76
    echo
    cat "$work/head" "$work/table"
    echo
    cat "$work/notes"
    echo
    printf '%-28s %4s  %-18s  %s\n' "in seconds" runs CPU wall
    for account in "$work"/cost/*; do
      case $account in *.out | *.err | */last | *'*') continue ;; esac
      spread "${account##*/}"
    done
  } >"$work/report"
  cp "$work/report" "$1"
}
