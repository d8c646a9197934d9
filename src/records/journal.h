#pragma once

#include <cstdint>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "records/clock.h"
#include "records/disk.h"
#include "records/json_line.h"

namespace vergeset::records {

using Json = nlohmann::ordered_json;

/// The journal of one change: one line an event, each on disk before the act that it announces.
/// An event is an object with `event` and usually `unit`; `at` is put in front here.
///
/// Units that are changed side by side share what it takes to get lines on disk: each adds its own, and
/// the first that cannot wait any longer syncs all that were added by then.
class Journal {
 public:
  Journal(Disk& disk, const Clock& clock, std::string path)
      : disk_(disk), clock_(clock), path_(std::move(path)) {}

  /// For a journal that is gone on with: what a power cut left of a last line does not become part of a line,
  /// nor a line by itself.
  static Journal resume(Disk& disk, const Clock& clock, std::string path);

  /// Keeps the line in memory; its number, from 1.
  std::uint64_t add(const JsonLine& event);
  std::uint64_t add(const Json& event);
  /// A file was written beside the journal whose name has to be on disk with the next line.
  void with_file() { files_ = true; }
  /// Lines up to this number are on stable storage.
  std::uint64_t on_disk() const { return on_disk_; }
  /// Returns when all lines are on stable storage; throws DiskError otherwise, and keeps them for the next
  /// attempt.
  void sync();
  /// Adds a line and syncs.
  void write(const Json& event);

 private:
  Disk& disk_;
  const Clock& clock_;
  std::string path_;
  std::string waiting_;
  std::uint64_t added_ = 0;
  std::uint64_t on_disk_ = 0;
  bool files_ = false;
  bool torn_ = false;  ///< the last attempt may have left part of a line
};

/// The events of a journal. A line that was torn by a power cut or a full disk is left out; `torn` says so.
struct JournalText {
  std::vector<Json> events;
  bool torn = false;
};
JournalText read_journal(const std::string& text);

}  // namespace vergeset::records
