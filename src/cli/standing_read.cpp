#include "cli/standing_read.h"

#include <algorithm>

#include "cli/local_time.h"
#include "records/clock.h"

namespace vergeset::cli {

namespace {

constexpr std::int64_t day_ms = 86400000;

/// Audits are named by the time when they began: what is older than this need not be opened.
std::string oldest_name(std::int64_t now, std::size_t nights) {
  const std::int64_t days = static_cast<std::int64_t>(nights) + 2;
  return "audits/" + records::file_stamp(std::max<std::int64_t>(now - days * day_ms, 0));
}

/// The night that ended this morning; the one to come once something was audited in it.
std::int64_t last_night(const records::Disk& disk, const std::vector<std::string>& audits,
                        const fleet::Fleet& fleet, std::int64_t now) {
  const std::int64_t ended = night_of(now - day_ms / 2, fleet.timezone);
  for (auto path = audits.rbegin(); path != audits.rend(); ++path) {
    const auto head = records::read_audit_head(disk.read(*path).value_or(""));
    const auto begun = head ? records::milliseconds_of(head->begun) : std::nullopt;
    if (begun && *begun <= now)
      return std::max(ended, std::min(night_of(*begun, fleet.timezone), night_of(now, fleet.timezone)));
  }
  return ended;
}

}  // namespace

report::Standing read_standing(const records::Disk& disk, const fleet::Fleet& fleet,
                               const std::vector<const fleet::Unit*>& units, std::size_t nights,
                               std::int64_t now) {
  const std::vector<std::string> audits = records::all_audits(disk);
  report::StandingMaker maker(fleet, units, nights, now, last_night(disk, audits, fleet, now),
                              [&](std::int64_t time) { return night_of(time, fleet.timezone); });
  const std::string oldest = oldest_name(now, nights);
  const std::string newest = "audits/" + records::file_stamp(now) + "~";
  for (auto path = audits.rbegin(); path != audits.rend() && *path >= oldest; ++path) {
    if (*path > newest) continue;
    const auto text = disk.read(*path);
    if (text) maker.take_audit(*path, *text);
  }
  for (const int number : records::change_numbers(disk)) {
    auto change = records::find_change(disk, number);
    if (change && records::milliseconds_of(change->begun).value_or(0) > now) continue;
    if (change) {
      maker.take_change(*std::move(change));
    } else {
      maker.take_unread(records::change_path(number, "change.yaml") + ": no record of a change");
    }
  }
  return maker.take();
}

}  // namespace vergeset::cli
