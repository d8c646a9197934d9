#include "notices.h"

#include <fmt/format.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <tuple>

#include "yaml_read.h"

namespace vergeset::payloads {

namespace {

/// "2026-10-05T06:00Z" as the year and the minute of it.
std::pair<int, std::int64_t> year_and_minute(const Entry& entry, const std::string& key) {
  using namespace std::chrono;
  const std::string text = entry.text(key);
  int y = 0;
  unsigned mo = 0;
  unsigned d = 0;
  int h = 0;
  int mi = 0;
  char end = 0;
  char more = 0;
  const int read = std::sscanf(text.c_str(), "%4d-%2u-%2uT%2d:%2d%c%c", &y, &mo, &d, &h, &mi, &end, &more);
  const year_month_day date{year{y}, month{mo}, day{d}};
  if (read != 6 || end != 'Z' || !date.ok() || h < 0 || h > 23 || mi < 0 || mi > 59) {
    refuse(entry.file(), entry.node()[key],
           fmt::format("\"{}\" must be a time in UTC like 2026-10-05T06:00Z", key));
  }
  const auto days = (sys_days{date} - sys_days{year{y} / January / 1}).count();
  return {y, std::int64_t{days} * 1440 + h * 60 + mi};
}

template <typename Value>
Value one_of(const Entry& entry, const std::string& key, const std::map<std::string, Value>& names) {
  const auto found = names.find(entry.text(key));
  if (found != names.end()) {
    return found->second;
  }
  std::string list;
  for (const auto& [name, value] : names) {
    list += (list.empty() ? "" : ", ") + name;
  }
  refuse(entry.file(), entry.node()[key], fmt::format("\"{}\" must be one of {}", key, list));
}

/// `all`, or degrees clockwise from north: the slices of 22.5 degrees that they lie in.
std::uint16_t headings_of(const Entry& entry) {
  if (entry.node()["headings"].IsScalar() && entry.text("headings") == "all") {
    return 0xffff;
  }
  unsigned slices = 0;
  for (const YAML::Node& each : entry.list("headings")) {
    double degrees = -1;
    if (!YAML::convert<double>::decode(each, degrees) || degrees < 0 || degrees >= 360) {
      refuse(entry.file(), each, "a heading must be 0 to 360 degrees");
    }
    slices |= 0x8000U >> static_cast<unsigned>(degrees / 22.5);
  }
  return static_cast<std::uint16_t>(slices);
}

Position position_of(const Entry& entry) {
  return {entry.steps("latitude", 1e-7), entry.steps("longitude", 1e-7), std::nullopt};
}

/// Metres to the east and the north from the point before.
std::vector<Node> nodes_of(const Entry& entry) {
  std::vector<Node> nodes;
  for (const YAML::Node& each : entry.list("points")) {
    double east = 0;
    double north = 0;
    if (!each.IsSequence() || each.size() != 2 || !YAML::convert<double>::decode(each[0], east) ||
        !YAML::convert<double>::decode(each[1], north)) {
      refuse(entry.file(), each, "a point must be [metres east, metres north] of the one before");
    }
    nodes.push_back({std::llround(east * 100), std::llround(north * 100)});
  }
  return nodes;
}

std::variant<Circle, Path> region_of(const Entry& entry) {
  if (entry.has("circle") == entry.has("path")) {
    refuse(entry.file(), entry.node(), "expected one of \"circle\" and \"path\"");
  }
  if (entry.has("circle")) {
    const Entry circle(entry.file(), entry.node()["circle"], {"latitude", "longitude", "radius"});
    return Circle{position_of(circle), circle.whole("radius")};
  }
  const Entry path(entry.file(), entry.node()["path"],
                   {"latitude", "longitude", "width", "both-ways", "points"});
  return Path{position_of(path), static_cast<int>(path.steps("width", 0.01)),
              one_of<bool>(path, "both-ways", {{"yes", true}, {"no", false}}), nodes_of(path)};
}

std::vector<Phrase> phrases_of(const Entry& entry) {
  std::vector<Phrase> phrases;
  for (const YAML::Node& each : entry.list("say")) {
    int code = 0;
    if (YAML::convert<int>::decode(each, code)) {
      phrases.emplace_back(code);
    } else {
      phrases.emplace_back(each.Scalar());
    }
  }
  return phrases;
}

Traveller read_one(const std::string& file, const YAML::Node& node) {
  const Entry entry(
      file, node, {"frame", "content", "start", "minutes", "priority", "headings", "circle", "path", "say"});
  Traveller notice;
  notice.frame = one_of<FrameType>(
      entry, "frame", {{"advisory", FrameType::advisory}, {"road sign", FrameType::road_signage}});
  notice.content = one_of<ContentType>(entry, "content",
                                       {{"advisory", ContentType::advisory},
                                        {"work zone", ContentType::work_zone},
                                        {"sign", ContentType::sign},
                                        {"speed limit", ContentType::speed_limit},
                                        {"exit", ContentType::exit}});
  std::tie(notice.year, notice.minute) = year_and_minute(entry, "start");
  notice.duration = entry.has("minutes") ? entry.whole("minutes") : 32000;
  notice.priority = entry.whole("priority");
  notice.headings = headings_of(entry);
  notice.region = region_of(entry);
  notice.phrases = phrases_of(entry);
  return notice;
}

}  // namespace

std::map<std::string, Traveller> read_notices(const std::string& file) {
  std::map<std::string, Traveller> notices;
  for_each_entry(file, "notices", [&](const std::string& name, const YAML::Node& node) {
    const Traveller notice = read_one(file, node);
    encode(notice);  // finds what is out of bounds while the place is known
    notices[name] = notice;
  });
  return notices;
}

}  // namespace vergeset::payloads
