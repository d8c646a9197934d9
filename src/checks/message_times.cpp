#include "checks/message_times.h"

#include <fmt/format.h>

#include "checks/traveller_times.h"

namespace vergeset::checks {

namespace {

using std::chrono::sys_seconds;

std::optional<sys_seconds> second_of(const std::optional<std::int64_t>& deciseconds) {
  if (!deciseconds) return std::nullopt;
  return sys_seconds(std::chrono::seconds(*deciseconds / 10));
}

void judge_window(const MessageRow& row, const fleet::Limits& limits, sys_seconds now, Findings& findings) {
  const auto start = second_of(row.start);
  const auto stop = second_of(row.stop);
  if (!stop) return;
  if (start && *stop <= *start) {
    findings.add("delivery-order",
                 fmt::format("{}: is to end at {}, and to begin at {}", row.name, j2735::calendar_text(*stop),
                             j2735::calendar_text(*start)),
                 row.place_of("stop"));
  } else if (*stop <= now) {
    findings.add("delivery-over",
                 fmt::format("{}: is sent no longer since {}", row.name, j2735::calendar_text(*stop)),
                 row.place_of("stop"));
  } else if (const double days = std::chrono::duration<double, std::ratio<86400>>(*stop - now).count();
             days <= limits.delivery_ends_days) {
    findings.add(
        "delivery-ends",
        fmt::format("{}: is sent until {}, for {} more", row.name, j2735::calendar_text(*stop),
                    days < 2 ? fmt::format("{:.0f} h", days * 24) : fmt::format("{:.0f} days", days)),
        row.place_of("stop"));
  }
}

void judge_packet(const MessageRow& row, const std::string& which, const j2735::Holds& times, sys_seconds now,
                  Findings& findings) {
  const auto stop = second_of(row.stop);
  if (times.until && *times.until <= now && (!stop || *stop > now)) {
    findings.add("message-over",
                 fmt::format("{}: {}holds no longer since {}, and is still sent", row.name, which,
                             j2735::calendar_text(*times.until)),
                 row.place());
  }
  if (!stop) return;
  if (times.until && *times.until > *stop) {
    findings.add("message-outlives",
                 fmt::format("{}: {}holds until {}, and is sent until {} only", row.name, which,
                             j2735::calendar_text(*times.until), j2735::calendar_text(*stop)),
                 row.place());
  }
  if (times.for_ever) {
    findings.add("message-for-ever",
                 fmt::format("{}: {}holds until told otherwise, and is sent until {} only", row.name, which,
                             j2735::calendar_text(*stop)),
                 row.place());
  }
}

}  // namespace

void judge_times(const MessageRow& row, const j2735::Message* message, const fleet::Limits& limits,
                 sys_seconds now, Findings& findings) {
  judge_window(row, limits, now, findings);
  const j2735::Traveller* const traveller = message != nullptr ? message->traveller() : nullptr;
  if (traveller == nullptr) return;
  const std::size_t count = traveller->frames.size();
  for (std::size_t i = 0; i < count; ++i) {
    const std::string which = count > 1 ? fmt::format("packet {} ", i + 1) : "";
    judge_packet(row, which, j2735::holds(traveller->frames[i]), now, findings);
  }
}

}  // namespace vergeset::checks
