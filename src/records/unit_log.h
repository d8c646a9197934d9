#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "records/clock.h"
#include "records/disk.h"

namespace vergeset::records {

/// records/units/<unit>.log: every request to this unit and what came of it, oldest first, one line
/// each: time, what for ("change 0042", "audit"), what. Never a secret: requests hold none.
class UnitLog {
 public:
  UnitLog(Disk& disk, const Clock& clock, const std::string& unit, std::string purpose);
  /// Kept in memory until `flush` or a few KiB; a log tells of acts, the journal announces them.
  void line(std::string_view what);
  void flush();
  ~UnitLog();
  UnitLog(const UnitLog&) = delete;
  UnitLog& operator=(const UnitLog&) = delete;

 private:
  std::unique_ptr<Appender> file_;
  const Clock& clock_;
  std::string purpose_;
  std::string waiting_;
};

std::string unit_log_path(const std::string& unit);

/// One line of a log with its end, `at` in milliseconds since 1970.
std::string unit_log_line(std::int64_t at, std::string_view purpose, std::string_view what);

}  // namespace vergeset::records
