#include "records/factory_tries.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <sstream>
#include <utility>

#include "records/clock.h"
#include "records/json_line.h"
#include "records/json_read.h"

namespace vergeset::records {

namespace {

constexpr std::int64_t too_young_ms = 12LL * 60 * 60 * 1000;

using Result = FactoryTry::Result;
constexpr std::array<std::pair<Result, const char*>, 4> names = {{{Result::opens, "opens"},
                                                                  {Result::refused, "refused"},
                                                                  {Result::not_tried, "not tried"},
                                                                  {Result::begun, "not told"}}};

auto same_name(const std::string& name) {
  return [&name](const FactoryTry& one) { return one.name == name; };
}

}  // namespace

const char* result_name(FactoryTry::Result result) {
  for (const auto& [one, name] : names) {
    if (one == result) return name;
  }
  return "not told";
}

std::optional<FactoryTry::Result> result_named(const std::string& name) {
  for (const auto& [one, known] : names) {
    if (name == known) return one;
  }
  return std::nullopt;
}

FactoryTries FactoryTries::read(const Disk& disk, const std::string& unit) {
  FactoryTries tries("units/" + unit + ".factory.jsonl");
  std::istringstream lines(disk.read(tries.path_).value_or(""));
  for (std::string text; std::getline(lines, text);) {
    const auto line = parse_json(text);
    if (!line) continue;
    FactoryTry one{text_in(*line, "name"), Result::begun, text_in(*line, "at")};
    one.result = result_named(text_in(*line, "result")).value_or(Result::begun);
    if (!one.name.empty() && milliseconds_of(one.at)) tries.tries_.push_back(std::move(one));
  }
  return tries;
}

std::optional<FactoryTry> FactoryTries::recent(const std::string& name, std::int64_t now) const {
  const auto found = std::find_if(tries_.begin(), tries_.end(), same_name(name));
  if (found == tries_.end()) return std::nullopt;
  const std::int64_t at = milliseconds_of(found->at).value_or(0);
  // A clock that was set back makes no try young for ever.
  if (std::llabs(now - at) >= too_young_ms) return std::nullopt;
  return *found;
}

void FactoryTries::begin(Disk& disk, const std::string& name, std::int64_t now) {
  std::erase_if(tries_, same_name(name));
  tries_.push_back({name, Result::begun, stamp(now)});
  write(disk);
}

void FactoryTries::end(Disk& disk, const std::string& name, FactoryTry::Result result) {
  const auto found = std::find_if(tries_.begin(), tries_.end(), same_name(name));
  if (found == tries_.end()) return;
  found->result = result;
  write(disk);
}

void FactoryTries::write(Disk& disk) const {
  std::string text;
  for (const FactoryTry& one : tries_) {
    JsonLine line;
    line.text("name", one.name).text("result", result_name(one.result)).text("at", one.at);
    text += line.str() + "\n";
  }
  disk.write_whole(path_, text, Durable::no);
}

}  // namespace vergeset::records
