// The journal of a change that has not ended, as whatever broke it off left it.
//
// About: src/records/journal.cpp src/records/change_record.cpp src/records/unfinished.cpp

#include "fuzz/fuzz.h"
#include "records/change_record.h"
#include "records/journal.h"
#include "records/unfinished.h"
#include "support/memory_disk.h"

using namespace vergeset;

namespace {

constexpr const char* begun =
    "change: 42\nkind: apply\nfleet: Larkmoor district\nwho: t@desk\nwhy: x\nbegun: "
    "2026-11-25T02:00:00.000Z\n"
    "units:\n  LK-101:\n    outcome: held\n    steps: 0\n    off-air-ms: 0\n"
    "  LK-102:\n    outcome: held\n    steps: 0\n    off-air-ms: 0\nfiles: {}\n";

}  // namespace

FUZZ_TARGET(journal) {
  test::MemoryDisk disk;
  disk.files["changes/0042/change.yaml"] = begun;
  disk.files["changes/0042/journal.jsonl"] = std::string(input);
  const records::JournalText journal = records::read_journal(std::string(input));
  const bool whole = input.empty() || input.back() == '\n';
  fuzz::must(whole || journal.torn, "a line without its end is a torn one");
  const auto change = records::find_change(disk, 42);
  fuzz::must(change && change->units.size() == 2,
             "a change is known by its change.yaml, whatever its journal");
  fuzz::must(records::all_changes(disk).size() == 1, "a change is listed, whatever its journal");
  const auto unfinished = records::unfinished_changes(disk);
  fuzz::must(unfinished.size() == 1, "a change without an end is unfinished, whatever its journal");
  for (const records::HalfDone& unit : unfinished.front().units) {
    fuzz::must(!unit.unit.empty(), "what is half done has a name");
    fuzz::must(unit.announced.size() <= journal.events.size(), "a step has a line of the journal");
  }
  const auto again = records::change_from_yaml(records::to_yaml(*change));
  fuzz::must(again && records::to_yaml(*again) == records::to_yaml(*change), "a change reads back the same");
}
