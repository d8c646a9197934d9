// The hex of a payload file.
//
// About: src/fleet/payload_file.cpp

#include "fleet/payload_file.h"
#include "fuzz/larkmoor.h"
#include "smi/value.h"

using namespace vergeset;

FUZZ_TARGET(payload) {
  Faults faults;
  const auto octets = fleet::parse_payload(input, "payloads/LK-101-map.hex", faults);
  fuzz::must_tell(faults);
  fuzz::must(octets.has_value() != faults.any(), "a payload is read, or a fault says why not");
  if (!octets) return;
  fuzz::must(octets->size() <= fleet::most_payload, "a payload is not longer than a message may be");
  const auto again = fleet::parse_payload(smi::to_hex(*octets), "payloads/again.hex", faults);
  fuzz::must(again == octets, "a payload reads back the same");
}
