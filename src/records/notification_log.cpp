#include "records/notification_log.h"

#include <fmt/format.h>

#include <algorithm>

#include "records/unit_log.h"

namespace vergeset::records {

namespace {

constexpr double lines_at_once = 60;
constexpr double lines_per_ms = 1.0 / 60000;
constexpr std::chrono::milliseconds minute_long = std::chrono::minutes(1);
constexpr std::size_t most_said = 16;  ///< different lines of a minute that are known again
constexpr std::size_t most_name = 64;
constexpr const char* listen_purpose = "listen";

}  // namespace

void NotificationLog::put(const std::string& unit, std::string_view text, bool durable) {
  Waiting& waiting = waiting_[unit];
  waiting.text += unit_log_line(clock_.now(), listen_purpose, text);
  waiting.durable = waiting.durable || durable;
}

NotificationLog::Took NotificationLog::add(const std::string& unit, const Line& line, Time now) {
  const auto [at, fresh] = units_.try_emplace(unit);
  Unit& held = at->second;
  if (fresh) held.filled = held.minute = now;
  held.used = std::max(0.0, held.used - static_cast<double>((now - held.filled).count()) * lines_per_ms);
  held.filled = std::max(held.filled, now);
  const std::size_t print = std::hash<std::string>()(line.text);
  const auto same =
      std::find_if(held.said.begin(), held.said.end(), [&](const Said& one) { return one.print == print; });
  if (same != held.said.end() && !line.acknowledged) {
    ++same->more;
    return Took::counted;
  }
  if (held.used + 1 > lines_at_once) {
    ++(line.acknowledged ? held.refused : held.others);
    return line.acknowledged ? Took::refused : Took::counted;
  }
  held.used += 1;
  if (same == held.said.end() && held.said.size() < most_said)
    held.said.push_back({print, line.name.substr(0, most_name), 0});
  put(unit, line.text, line.acknowledged);
  return Took::written;
}

void NotificationLog::note(const std::string& unit, const std::string& text) {
  put(unit, text, false);
}

void NotificationLog::flush() {
  for (auto at = waiting_.begin(); at != waiting_.end(); at = waiting_.erase(at))
    disk_.append(unit_log_path(at->first), at->second.text, at->second.durable);
}

/// "37 more linkDown, 2 more coldStart and 12 others in the last minute"; empty where there is nothing to
/// say.
std::string NotificationLog::rest_of(const Unit& unit) {
  std::string text;
  const auto add = [&text](const std::string& part) { text += (text.empty() ? "" : ", ") + part; };
  std::map<std::string, std::size_t> more;
  for (const Said& one : unit.said) more[one.name] += one.more;
  for (const auto& [name, count] : more) {
    if (count > 0) add(fmt::format("{} more {}", count, name));
  }
  if (unit.others > 0) add(fmt::format("{} other{}", unit.others, unit.others == 1 ? "" : "s"));
  if (unit.refused > 0) add(fmt::format("{} not acknowledged, over its rate", unit.refused));
  return text.empty() ? text : "notifications in the last minute: " + text;
}

void NotificationLog::close_minutes(Time now, bool all,
                                    const std::function<void(const std::string&, const std::string&)>& told) {
  for (auto at = units_.begin(); at != units_.end();) {
    Unit& unit = at->second;
    if (!all && now - unit.minute < minute_long) {
      ++at;
      continue;
    }
    const std::string text = rest_of(unit);
    if (!text.empty()) {
      put(at->first, text, false);
      told(at->first, text);
    }
    unit.said.clear();
    unit.others = unit.refused = 0;
    unit.minute = now;
    const double left = unit.used - static_cast<double>((now - unit.filled).count()) * lines_per_ms;
    at = left <= 0 ? units_.erase(at) : std::next(at);
  }
}

}  // namespace vergeset::records
