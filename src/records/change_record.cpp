#include "records/change_record.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdlib>
#include <limits>
#include <string_view>

#include "records/journal.h"
#include "records/json_read.h"
#include "records/yaml_text.h"
#include "smi/value.h"
#include "smi/words.h"

namespace vergeset::records {

namespace {

void add(std::string& out, std::string_view key, const std::string& value) {
  out += fmt::format("{}: {}\n", key, scalar(value));
}

void add(std::string& out, const UnitOutcome& unit) {
  out += fmt::format("  {}:\n    outcome: {}\n", scalar(unit.unit), scalar(unit.outcome));
  if (!unit.what.empty()) out += fmt::format("    what: {}\n", scalar(unit.what));
  out += fmt::format("    steps: {}\n    off-air-ms: {}\n", unit.steps, unit.off_air_ms);
}

}  // namespace

std::string change_name(int number) {
  return fmt::format("{:04}", number);
}

std::string change_path(int number, const std::string& name) {
  return fmt::format("changes/{}/{}", change_name(number), name);
}

std::string to_yaml(const ChangeRecord& change) {
  std::string out = fmt::format("change: {}\n", change.number);
  add(out, "kind", change.kind);
  if (!change.of.empty()) add(out, "of", change.of);
  add(out, "fleet", change.fleet);
  add(out, "who", change.who);
  add(out, "why", change.why);
  if (!change.approved.empty()) add(out, "approved", change.approved);
  add(out, "begun", change.begun);
  if (!change.ended.empty()) add(out, "ended", change.ended);
  out += change.units.empty() ? "units: {}\n" : "units:\n";
  for (const UnitOutcome& unit : change.units) add(out, unit);
  out += change.files.empty() ? "files: {}\n" : "files:\n";
  for (const auto& [path, digest] : change.files) add(out, "  " + scalar(path), digest);
  return out;
}

namespace {

constexpr std::int64_t most_changes = 99999999;  // folders have names of eight digits at most

/// A number from 0 to `most`; 0 where there is none.
std::int64_t count_at(const YAML::Node& map, const char* key, std::int64_t most) {
  const auto number = smi::whole_number(text_at(map, key));
  return number && *number >= 0 && *number <= most ? *number : 0;
}

Result<ChangeRecord> change_from(const YAML::Node& node) {
  ChangeRecord change;
  change.number = static_cast<int>(count_at(node, "change", most_changes));
  if (change.number == 0) return Problem{"expected `change:` with a number"};
  change.kind = text_at(node, "kind");
  change.of = text_at(node, "of");
  change.fleet = text_at(node, "fleet");
  change.who = text_at(node, "who");
  change.why = text_at(node, "why");
  change.approved = text_at(node, "approved");
  change.begun = text_at(node, "begun");
  change.ended = text_at(node, "ended");
  for (const auto& pair : node["units"]) {
    UnitOutcome unit;
    unit.unit = pair.first.Scalar();
    unit.outcome = text_at(pair.second, "outcome");
    unit.what = text_at(pair.second, "what");
    unit.steps = static_cast<int>(count_at(pair.second, "steps", std::numeric_limits<int>::max()));
    unit.off_air_ms = count_at(pair.second, "off-air-ms", std::numeric_limits<std::int64_t>::max());
    change.units.push_back(std::move(unit));
  }
  for (const auto& pair : node["files"]) change.files.emplace_back(pair.first.Scalar(), pair.second.Scalar());
  return change;
}

}  // namespace

Result<ChangeRecord> change_from_yaml(const std::string& text) {
  return from_record<ChangeRecord>(text, change_from);
}

std::vector<int> change_numbers(const Disk& disk) {
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

int take_change_number(Disk& disk) {
  const std::vector<int> taken = change_numbers(disk);
  int number = taken.empty() ? 1 : taken.back() + 1;
  while (!disk.make_folder("changes/" + change_name(number))) ++number;
  return number;
}

std::vector<ChangeRecord> all_changes(const Disk& disk) {
  std::vector<ChangeRecord> changes;
  for (const int number : change_numbers(disk)) {
    if (auto change = find_change(disk, number)) changes.push_back(*std::move(change));
  }
  return changes;
}

namespace {

/// What became of the units of a change that has not ended, from its journal.
void take_from_journal(const std::string& journal, ChangeRecord& change) {
  const auto unit_of = [&](const Json& event) -> UnitOutcome* {
    const std::string name = text_in(event, "unit");
    const auto found = std::find_if(change.units.begin(), change.units.end(),
                                    [&](const UnitOutcome& unit) { return unit.unit == name; });
    return found == change.units.end() ? nullptr : &*found;
  };
  for (const Json& event : read_journal(journal).events) {
    UnitOutcome* unit = unit_of(event);
    if (unit == nullptr) continue;
    const std::string kind = text_in(event, "event");
    if (kind == "step" || kind == "restore step") {
      unit->outcome = "needs attention";
      unit->what = "was being changed when the records break off, may be in standby; vergeset recover";
    } else if (kind == "result") {
      unit->steps += text_in(event, "result") == "done" ? 1 : 0;
    } else if (kind == "outcome") {
      unit->outcome = text_in(event, "outcome");
      unit->what = text_in(event, "what");
      unit->off_air_ms = number_in(event, "off_air_ms").value_or(0);
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
