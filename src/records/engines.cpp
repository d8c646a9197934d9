#include "records/engines.h"

#include <cstdlib>
#include <sstream>

#include "records/journal.h"
#include "smi/value.h"

namespace vergeset::records {

namespace {

const std::string path = "engines.jsonl";

/// Both clocks count whole seconds, and the answer took some time to come.
constexpr std::int64_t same_start_s = 5;

bool nearly(const Engines::Known& a, const Engines::Known& b) {
  return a.id == b.id && a.boots == b.boots && std::llabs(a.started - b.started) <= same_start_s;
}

std::string line_of(const std::string& unit, const Engines::Known& known) {
  const Json line{
      {"unit", unit}, {"engine", smi::to_hex(known.id)}, {"boots", known.boots}, {"started", known.started}};
  return line.dump() + "\n";
}

void take_line(const std::string& text, std::map<std::string, Engines::Known>& out) {
  const Json line = Json::parse(text, nullptr, false);
  if (!line.is_object()) return;
  try {
    const auto id = smi::from_hex(line.at("engine").get<std::string>());
    if (!id) return;
    out[line.at("unit").get<std::string>()] = {*id, line.at("boots").get<std::uint32_t>(),
                                               line.at("started").get<std::int64_t>()};
  } catch (const Json::exception&) {
    return;  // not ours, or torn
  }
}

}  // namespace

Engines Engines::read(const Disk& disk) {
  Engines engines;
  const auto text = disk.read(path);
  if (!text) return engines;
  std::istringstream lines(*text);
  for (std::string line; std::getline(lines, line);) take_line(line, engines.known_);
  return engines;
}

std::optional<Engines::Known> Engines::find(const std::string& unit) const {
  const auto found = known_.find(unit);
  if (found == known_.end()) return std::nullopt;
  return found->second;
}

void Engines::note(const std::string& unit, const Known& known) {
  Known& before = known_[unit];
  if (nearly(before, known)) return;
  before = known;
  noted_[unit] = known;
}

void Engines::keep(Disk& disk) {
  if (noted_.empty()) return;
  Engines all = read(disk);
  for (auto& [unit, known] : noted_) all.known_[unit] = std::move(known);
  noted_.clear();
  std::string text;
  for (const auto& [unit, known] : all.known_) text += line_of(unit, known);
  disk.write_whole(path, text);
}

}  // namespace vergeset::records
