#include "fleet/window.h"

#include <algorithm>
#include <cctype>
#include <regex>

#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

constexpr int minutes_a_day = 1440;

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

/// 0 Sunday .. 6 Saturday.
Result<int> day_of(const std::string& text) {
  static const std::vector<std::string> days = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  for (std::size_t day = 0; day < days.size(); ++day) {
    if (lower(days[day]) == lower(text)) return static_cast<int>(day);
  }
  return Problem{"expected a day Mon .. Sun or daily, found " + text + smi::suggestion(text, days)};
}

Result<std::vector<int>> days_of(const std::string& text) {
  if (lower(text) == "daily") return std::vector<int>{0, 1, 2, 3, 4, 5, 6};
  const std::size_t dash = text.find('-');
  const auto first = day_of(text.substr(0, dash));
  if (!first) return Problem{first.problem()};
  const auto last = dash == std::string::npos ? first : day_of(text.substr(dash + 1));
  if (!last) return Problem{last.problem()};
  std::vector<int> days = {*first};
  while (days.back() != *last) days.push_back((days.back() + 1) % 7);
  return days;
}

/// Minutes after midnight; 24:00 is the end of a day.
Result<int> minute_of(const std::string& hours, const std::string& minutes) {
  const int minute = std::stoi(hours) * 60 + std::stoi(minutes);
  if (std::stoi(minutes) > 59 || minute > minutes_a_day) {
    return Problem{"expected a time 00:00 to 24:00, found " + hours + ":" + minutes};
  }
  return minute;
}

}  // namespace

Result<std::vector<Window::Span>> parse_spans(const std::string& text) {
  static const std::regex shape(
      "([A-Za-z]+(?:-[A-Za-z]+)?)\\s+([0-9]{1,2}):([0-9]{2})\\s*-\\s*([0-9]{1,2}):([0-9]{2})");
  std::smatch parts;
  // The length is bounded because std::regex recurses once a character.
  if (text.size() > 64 || !std::regex_match(text, parts, shape)) {
    return Problem{"expected days and hours as in Mon-Fri 22:00-05:00, found " + text};
  }
  const auto days = days_of(parts[1]);
  if (!days) return Problem{days.problem()};
  const auto from = minute_of(parts[2], parts[3]);
  if (!from) return Problem{from.problem()};
  const auto until = minute_of(parts[4], parts[5]);
  if (!until) return Problem{until.problem()};
  if (*from == *until || *from == minutes_a_day) {
    return Problem{"expected hours that open before they close (00:00-24:00 is a whole day), found " + text};
  }
  std::vector<Window::Span> spans;
  for (const int day : *days) {
    spans.push_back({day, *from, *until > *from ? *until : *until + minutes_a_day});
  }
  return spans;
}

bool Window::open(int weekday, int minute) const {
  if (spans.empty()) return true;
  return std::any_of(spans.begin(), spans.end(), [&](const Span& span) {
    if (weekday == span.day && minute >= span.from && minute < span.until) return true;
    return weekday == (span.day + 1) % 7 && minute < span.until - minutes_a_day;
  });
}

}  // namespace vergeset::fleet
