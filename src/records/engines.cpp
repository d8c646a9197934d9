#include "records/engines.h"

#include <cstdlib>
#include <sstream>

#include "records/json_read.h"
#include "smi/value.h"

namespace vergeset::records {

namespace {

const std::string path = "engines.jsonl";

/// Both clocks count whole seconds, and the answer took some time to come.
constexpr std::int64_t same_start_s = 5;

constexpr std::int64_t most_boots = 2147483647;      // RFC 3414 2.2.2
constexpr std::int64_t most_started = 253402300799;  // the end of the year 9999

bool nearly(const Engines::Known& a, const Engines::Known& b) {
  return a.id == b.id && a.boots == b.boots && std::llabs(a.started - b.started) <= same_start_s;
}

std::string line_of(const std::string& unit, const Engines::Known& known) {
  const Json line{
      {"unit", unit}, {"engine", smi::to_hex(known.id)}, {"boots", known.boots}, {"started", known.started}};
  return line.dump() + "\n";
}

/// Lines that are not ours, or torn, are passed over.
void take_line(const std::string& text, std::map<std::string, Engines::Known>& out) {
  const auto line = parse_json(text);
  if (!line) return;
  const std::string unit = text_in(*line, "unit");
  const auto id = smi::from_hex(text_in(*line, "engine"));
  const auto boots = number_in(*line, "boots");
  const auto started = number_in(*line, "started");
  if (unit.empty() || !id || id->empty() || !boots || !started) return;
  if (*boots < 0 || *boots > most_boots || *started < 0 || *started > most_started) return;
  out[unit] = {*id, static_cast<std::uint32_t>(*boots), *started};
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
