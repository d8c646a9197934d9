# Sourced by the tests here: a folder that goes with the test, and how a test fails.
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
fail() {
  echo "$1" >&2
  exit 1
}
