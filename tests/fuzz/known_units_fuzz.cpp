// known-units.jsonl: which engine and certificate each unit had at first contact.
//
// About: src/records/known_units.cpp

#include "fuzz/fuzz.h"
#include "records/known_units.h"
#include "support/memory_disk.h"

using namespace vergeset;

namespace {

/// What was not told before may have been added.
bool stays(const records::KnownUnits::Known& before, const records::KnownUnits::Known& after) {
  return (before.engine.empty() || before.engine == after.engine) && before.certificate == after.certificate;
}

}  // namespace

FUZZ_TARGET(known_units) {
  test::MemoryDisk disk;
  disk.files["known-units.jsonl"] = std::string(input);
  records::KnownUnits known = records::KnownUnits::read(disk);
  const auto before = known.find("LK-101");
  known.met(disk, "LK-101", {"another engine", {}}, "2026-11-25T12:00:00.000Z");
  known.keep(disk);
  const auto after = records::KnownUnits::read(disk).find("LK-101");
  fuzz::must(after.has_value(), "a unit that was met is known, whatever stood there");
  fuzz::must(!before || stays(*before, *after), "a unit that was known stays the one that it was");
  known.accept({"LK-101"}, "ops@desk");
  known.met(disk, "LK-101", {"a third one", {}}, "2026-11-25T12:00:00.000Z");
  const auto accepted = records::KnownUnits::read(disk).find("LK-101");
  fuzz::must(accepted && accepted->engine == "a third one", "an accepted replacement is known");
}
