#!/bin/sh
# Makes a decoder for traveller information with asn1c (package asn1c) and lets notice_check read every
# notice of a fleet with it. Exits with 77 where asn1c is not there.
set -eu

if [ "${1:-}" = --help ] || [ $# -ne 3 ]; then
  echo "Usage: tim_check.sh NOTICE_CHECK PAYLOADS FOLDER-FOR-RESULTS"
  [ $# -eq 1 ] && exit 0
  exit 2
fi
checker=$1
payloads=$2
work=$3
grammar=$(cd "$(dirname "$0")" && pwd)/tim.asn

if ! command -v asn1c >/dev/null; then
  echo "asn1c is not there (package asn1c): nothing was checked"
  exit 77
fi

rm -rf "$work/decoder"
mkdir -p "$work/decoder"
cd "$work/decoder"
asn1c -gen-PER -fcompound-names -pdu=TravelerInformation "$grammar" >asn1c.log 2>&1
# asn1c's code is not ours to warn about.
"${CC:-cc}" -w -O0 -I. -DPDU=TravelerInformation ./*.c -o decode

exec "$checker" "$work/decoder/decode" "$payloads" "$work"
