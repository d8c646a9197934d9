#!/bin/sh
# Makes a program with asn1c (package asn1c) that turns a type of messages.asn from UPER into XER and back,
# and runs a checker on it. Exits with 77 where asn1c is not there.
set -eu

if [ "${1:-}" = --help ] || [ $# -lt 3 ]; then
  echo "Usage: with_asn1c.sh TYPE FOLDER-FOR-RESULTS CHECKER [ARGUMENT...]"
  [ $# -eq 1 ] && exit 0
  exit 2
fi
type=$1
work=$2
checker=$3
shift 3
grammar=$(cd "$(dirname "$0")" && pwd)/messages.asn

if ! command -v asn1c >/dev/null; then
  echo "asn1c is not there (package asn1c): nothing was checked"
  exit 77
fi

rm -rf "$work/asn1c"
mkdir -p "$work/asn1c"
cd "$work/asn1c"
asn1c -gen-PER -fcompound-names -pdu=all "$grammar" >asn1c.log 2>&1
# asn1c's code is not ours to warn about.
"${CC:-cc}" -w -O0 -I. -DASN_PDU_COLLECTION -DPDU="$type" ./*.c -o convert

exec "$checker" "$work/asn1c/convert" "$@"
