#include "records/unit_log.h"

#include <fmt/format.h>

#include "smi/inert.h"

namespace vergeset::records {

std::string unit_log_path(const std::string& unit) {
  return "units/" + unit + ".log";
}

std::string unit_log_line(std::int64_t at, std::string_view purpose, std::string_view what) {
  return fmt::format("{}  {:<11}  {}\n", stamp(at), purpose, smi::inert(what));
}

UnitLog::UnitLog(Disk& disk, const Clock& clock, const std::string& unit, std::string purpose)
    : file_(disk.appender(unit_log_path(unit))), clock_(clock), purpose_(std::move(purpose)) {}

void UnitLog::line(std::string_view what) {
  waiting_ += unit_log_line(clock_.now(), purpose_, what);
  constexpr std::size_t enough = 8192;
  if (waiting_.size() > enough) flush();
}

void UnitLog::flush() {
  if (waiting_.empty()) return;
  file_->append(waiting_);
  waiting_.clear();
}

UnitLog::~UnitLog() {
  try {
    flush();
  } catch (const DiskError&) {
    // The journal, which must not fail, has said so already or the next write will.
  }
}

}  // namespace vergeset::records
