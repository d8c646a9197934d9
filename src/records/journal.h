#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "records/clock.h"
#include "records/disk.h"

namespace vergeset::records {

using Json = nlohmann::ordered_json;

/// The journal of one change: one line an event, each on disk before the act that it announces.
/// An event is an object with `event` and usually `unit`; `at` is put in front here.
class Journal {
 public:
  Journal(Disk& disk, const Clock& clock, std::string path)
      : disk_(disk), clock_(clock), path_(std::move(path)) {}

  /// Returns when the line is on stable storage; throws DiskError otherwise.
  void write(const Json& event);

 private:
  Disk& disk_;
  const Clock& clock_;
  std::string path_;
};

/// The events of a journal. A last line that was torn by a power cut is left out; `torn` says so.
struct JournalText {
  std::vector<Json> events;
  bool torn = false;
};
JournalText read_journal(const std::string& text);

}  // namespace vergeset::records
