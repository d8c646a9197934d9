#include "records/change_record.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdlib>

#include "records/journal.h"
#include "records/yaml_text.h"
#include "smi/value.h"

namespace vergeset::records {

namespace {

void emit_units(YAML::Emitter& out, const std::vector<UnitOutcome>& units) {
  out << YAML::BeginMap;
  for (const UnitOutcome& unit : units) {
    out << YAML::Key << unit.unit << YAML::Value << YAML::BeginMap;
    out << YAML::Key << "outcome" << YAML::Value << unit.outcome;
    if (!unit.what.empty()) out << YAML::Key << "what" << YAML::Value << unit.what;
    out << YAML::Key << "steps" << YAML::Value << unit.steps;
    out << YAML::Key << "off-air-ms" << YAML::Value << unit.off_air_ms;
    out << YAML::EndMap;
  }
  out << YAML::EndMap;
}

/// The numbers that have a folder below changes/.
std::vector<int> numbers(const Disk& disk) {
  std::vector<int> found;
  for (const std::string& name : disk.list("changes")) {
    const bool digits =
        !name.empty() && name.size() < 9 &&
        std::all_of(name.begin(), name.end(), [](unsigned char c) { return std::isdigit(c); });
    if (digits) found.push_back(std::atoi(name.c_str()));
  }
  std::sort(found.begin(), found.end());
  return found;
}

}  // namespace

std::string change_name(int number) {
  return fmt::format("{:04}", number);
}

std::string change_path(int number, const std::string& name) {
  return fmt::format("changes/{}/{}", change_name(number), name);
}

std::string to_yaml(const ChangeRecord& change) {
  YAML::Emitter out;
  out << YAML::BeginMap;
  out << YAML::Key << "change" << YAML::Value << change.number;
  out << YAML::Key << "kind" << YAML::Value << change.kind;
  if (!change.of.empty()) out << YAML::Key << "of" << YAML::Value << change.of;
  out << YAML::Key << "fleet" << YAML::Value << change.fleet;
  out << YAML::Key << "who" << YAML::Value << change.who;
  out << YAML::Key << "why" << YAML::Value << change.why;
  out << YAML::Key << "begun" << YAML::Value << change.begun;
  if (!change.ended.empty()) out << YAML::Key << "ended" << YAML::Value << change.ended;
  out << YAML::Key << "units" << YAML::Value;
  emit_units(out, change.units);
  out << YAML::Key << "files" << YAML::Value << YAML::BeginMap;
  for (const auto& [path, digest] : change.files) out << YAML::Key << path << YAML::Value << digest;
  out << YAML::EndMap << YAML::EndMap;
  return std::string(out.c_str()) + "\n";
}

namespace {

Result<ChangeRecord> change_from(const YAML::Node& node) {
  ChangeRecord change;
  change.number = std::atoi(text_at(node, "change").c_str());
  if (change.number <= 0) return Problem{"expected `change:` with a number"};
  change.kind = text_at(node, "kind");
  change.of = text_at(node, "of");
  change.fleet = text_at(node, "fleet");
  change.who = text_at(node, "who");
  change.why = text_at(node, "why");
  change.begun = text_at(node, "begun");
  change.ended = text_at(node, "ended");
  for (const auto& pair : node["units"]) {
    UnitOutcome unit;
    unit.unit = pair.first.Scalar();
    unit.outcome = text_at(pair.second, "outcome");
    unit.what = text_at(pair.second, "what");
    unit.steps = std::atoi(text_at(pair.second, "steps").c_str());
    unit.off_air_ms = std::atoll(text_at(pair.second, "off-air-ms").c_str());
    change.units.push_back(std::move(unit));
  }
  for (const auto& pair : node["files"]) change.files.emplace_back(pair.first.Scalar(), pair.second.Scalar());
  return change;
}

}  // namespace

Result<ChangeRecord> change_from_yaml(const std::string& text) {
  return from_record<ChangeRecord>(text, change_from);
}

int take_change_number(Disk& disk) {
  const std::vector<int> taken = numbers(disk);
  int number = taken.empty() ? 1 : taken.back() + 1;
  while (!disk.make_folder("changes/" + change_name(number))) ++number;
  return number;
}

std::vector<ChangeRecord> all_changes(const Disk& disk) {
  std::vector<ChangeRecord> changes;
  for (const int number : numbers(disk)) {
    if (auto change = find_change(disk, number)) changes.push_back(*std::move(change));
  }
  return changes;
}

namespace {

/// What became of the units of a change that has not ended, from its journal.
void take_from_journal(const std::string& journal, ChangeRecord& change) {
  const auto unit_of = [&](const Json& event) -> UnitOutcome* {
    const std::string name = event.value("unit", "");
    const auto found = std::find_if(change.units.begin(), change.units.end(),
                                    [&](const UnitOutcome& unit) { return unit.unit == name; });
    return found == change.units.end() ? nullptr : &*found;
  };
  for (const Json& event : read_journal(journal).events) {
    if (!event.is_object()) continue;
    UnitOutcome* unit = unit_of(event);
    if (unit == nullptr) continue;
    const std::string kind = event.value("event", "");
    if (kind == "step" || kind == "restore step") {
      unit->outcome = "needs attention";
      unit->what = fmt::format("was being changed, may be in standby; vergeset rollback {} {}", change.number,
                               unit->unit);
    } else if (kind == "result") {
      unit->steps += event.value("result", "") == "done" ? 1 : 0;
    } else if (kind == "outcome") {
      unit->outcome = event.value("outcome", "");
      unit->what = event.value("what", "");
      unit->off_air_ms = event.value("off_air_ms", std::int64_t{0});
    }
  }
}

}  // namespace

std::optional<ChangeRecord> find_change(const Disk& disk, int number) {
  const auto text = disk.read(change_path(number, "change.yaml"));
  if (!text) return std::nullopt;
  auto read = change_from_yaml(*text);
  if (!read) return std::nullopt;
  ChangeRecord change = *std::move(read);
  if (change.ended.empty()) {
    take_from_journal(disk.read(change_path(number, "journal.jsonl")).value_or(""), change);
  }
  return change;
}

std::string sha256(const std::string& octets) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int size = 0;
  EVP_Digest(octets.data(), octets.size(), digest.data(), &size, EVP_sha256(), nullptr);
  return smi::to_hex({reinterpret_cast<const char*>(digest.data()), size});
}

}  // namespace vergeset::records
