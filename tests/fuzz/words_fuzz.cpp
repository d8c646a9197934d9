// The small words of files, command lines and answers, each with all of the input: object identifiers,
// quantities, times, windows, waves, parts, addresses, choices, substitutes, a position that a unit tells.
//
// About: src/smi/oid.cpp src/smi/quantity.cpp src/smi/decimal.cpp src/smi/units.cpp src/fleet/window.cpp
// About: src/fleet/wave.cpp src/fleet/part.cpp src/fleet/address.cpp src/fleet/choose.cpp
// About: src/fleet/substitute.cpp src/records/clock.cpp src/checks/gga.cpp

#include <cmath>

#include "checks/gga.h"
#include "fleet/address.h"
#include "fleet/part.h"
#include "fleet/substitute.h"
#include "fleet/wave.h"
#include "fleet/window.h"
#include "fuzz/larkmoor.h"
#include "records/clock.h"
#include "smi/quantity.h"

using namespace vergeset;

namespace {

template <class T>
bool taken(const Result<T>& result) {
  if (!result) fuzz::must_explain(result.problem());
  return static_cast<bool>(result);
}

/// What is wrong with a word of a file becomes a fault, which is where it is made safe to show.
template <class T>
bool taken_from_file(const Result<T>& result) {
  Faults faults;
  if (!result) faults.add({"fleet.yaml", 1, 1}, result.problem());
  fuzz::must_tell(faults);
  return static_cast<bool>(result);
}

void object_identifier(const std::string& text) {
  const auto oid = smi::Oid::parse(text);
  if (!taken(oid)) return;
  fuzz::must(oid->size() <= 128, "an identifier has at most 128 arcs (RFC 2578 3.5)");
  const auto again = smi::Oid::parse(oid->str());
  fuzz::must(again && *again == *oid, "an identifier reads back the same", text);
}

void quantity(const std::string& text) {
  const auto read = smi::Quantity::parse(text);
  if (!taken(read)) return;
  for (const char* unit :
       {"cm", "m", "1e-7 degree", "100 ms", "dBm", "% of full strength", "min", "octets"}) {
    const auto number = smi::in_unit(*read, unit);
    if (!taken(number)) continue;
    const auto again = smi::Quantity::parse(smi::with_unit(*number, unit));
    fuzz::must(static_cast<bool>(again), "a number with its unit is a quantity", text);
    const auto back = smi::in_unit(*again, unit);
    fuzz::must(back && *back == *number, "a quantity reads back the same", text);
  }
}

void time(const std::string& text) {
  const auto milliseconds = records::milliseconds_of(text);
  if (!milliseconds) return;
  fuzz::must(records::milliseconds_of(records::stamp(*milliseconds)) == milliseconds,
             "a stamp reads back the same", text);
}

void rules(const std::string& text) {
  if (const auto wave = fleet::parse_wave(text); taken_from_file(wave))
    fuzz::must(wave->number >= 0, "a wave has no fewer units than none", text);
  if (const auto spans = fleet::parse_spans(text); taken_from_file(spans)) {
    const fleet::Window window{*spans, text};
    for (int minute = 0; minute < 7 * 1440; minute += 97) window.open(minute / 1440, minute % 1440);
  }
  if (const auto part = fleet::part_named(text); taken(part))
    fuzz::must(part->number >= 1 && part->number <= part->of && part->of <= fleet::most_parts,
               "a part is one of its parts", text);
  if (const auto host = fleet::host_of(text); taken_from_file(host)) {
    const auto again = fleet::host_of(*host);
    fuzz::must(again && *again == *host, "an address has one spelling", text);
  }
}

void choice(const std::string& text) {
  const fleet::Fleet& fleet = fuzz::larkmoor();
  taken_from_file(fleet::choose(fleet, {{text}, {}, {}, {}, {}}));
  taken_from_file(fleet::choose(fleet, {{}, {text}, {text}, {text}, text}));
  taken_from_file(fleet::substitute(text, fleet.units.front()));
}

void position(const std::string& text) {
  // Fuzzers do not guess checksums.
  std::string sentence = text;
  if (const auto start = text.find('$'); start != std::string::npos) {
    unsigned sum = 0;
    const std::string body = text.substr(start + 1, text.find('*') - start - 1);
    for (const unsigned char c : body) sum ^= c;
    sentence = "$" + body + "*" + smi::to_hex(std::string(1, static_cast<char>(sum)));
  }
  const auto gga = checks::parse_gga(sentence);
  if (!gga || !gga->at) return;
  fuzz::must(std::abs(gga->at->latitude) <= 90 && std::abs(gga->at->longitude) <= 180,
             "a position is on the Earth", sentence);
  fuzz::must(std::isfinite(checks::metres_between(*gga->at, {54.9, -20})), "a distance is a number",
             sentence);
}

}  // namespace

FUZZ_TARGET(words) {
  const std::string text(input);
  object_identifier(text);
  quantity(text);
  time(text);
  rules(text);
  choice(text);
  position(text);
  taken(smi::type_named(text));
}
