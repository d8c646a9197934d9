#!/bin/sh
# Makes an encoder for MAP, SPAT and traveller information with asn1c (package asn1c) and lets message_check
# read with our decoder what it encodes. Exits with 77 where asn1c is not there.
set -eu

if [ "${1:-}" = --help ] || [ $# -ne 4 ]; then
  echo "Usage: message_check.sh MESSAGE_CHECK FOLDER-FOR-RESULTS SEED COUNT"
  [ $# -eq 1 ] && exit 0
  exit 2
fi
checker=$1
work=$2
seed=$3
count=$4
grammar=$(cd "$(dirname "$0")" && pwd)/messages.asn

if ! command -v asn1c >/dev/null; then
  echo "asn1c is not there (package asn1c): nothing was checked"
  exit 77
fi

rm -rf "$work/encoder"
mkdir -p "$work/encoder"
cd "$work/encoder"
asn1c -gen-PER -fcompound-names -pdu=all "$grammar" >asn1c.log 2>&1
# asn1c's code is not ours to warn about.
"${CC:-cc}" -w -O0 -I. -DASN_PDU_COLLECTION -DPDU=MapData ./*.c -o encode

exec "$checker" "$work/encoder/encode" "$work" "$seed" "$count"
