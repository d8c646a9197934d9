// engines.jsonl: what is remembered of the units' engines.
//
// About: src/records/engines.cpp

#include "fuzz/fuzz.h"
#include "records/engines.h"
#include "support/memory_disk.h"

using namespace vergeset;

FUZZ_TARGET(engines) {
  test::MemoryDisk disk;
  disk.files["engines.jsonl"] = std::string(input);
  records::Engines engines = records::Engines::read(disk);
  const records::Engines::Known known{std::string("\x80\x00\x1f\x88\x04x", 6), 7, 1764054000};
  const auto before = engines.find("LK-101");
  engines.note("LK-101", known);
  engines.keep(disk);
  const auto after = records::Engines::read(disk).find("LK-101");
  fuzz::must(after && after->id == known.id && after->boots == known.boots,
             "what was noted is on record, whatever stood there");
}
