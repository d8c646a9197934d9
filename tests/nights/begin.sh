# Sourced by the tests here, with $work set: an empty folder to work in, where the sources are, and how a test fails.
source=$(cd "$(dirname "$0")/../.." && pwd)
complain() {
  echo "$*" >&2
  [ ! -s "$work/said" ] || cat "$work/said" >&2
  exit 1
}
rm -rf "$work"
mkdir -p "$work"
