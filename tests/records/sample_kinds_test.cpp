#include <sstream>

#include "catch.h"
#include "records/audit_record.h"
#include "records/change_record.h"
#include "records/clock.h"
#include "records/commissioning.h"
#include "records/engines.h"
#include "records/factory_tries.h"
#include "records/holder.h"
#include "records/journal.h"
#include "records/key_store.h"
#include "records/known_units.h"
#include "records/own_engine.h"
#include "records/snapshot.h"
#include "records/survey_record.h"
#include "records/yaml_text.h"
#include "support/memory_disk.h"
#include "support/record_samples.h"

// Whether samples are whole: each that is listed is there as it was kept, nothing is there that no test asks
// for, and nothing is read of which there is no sample.

using namespace vergeset;
using namespace vergeset::records;
using vergeset::test::MemoryDisk;
using vergeset::test::sample_kinds;
using vergeset::test::SampleKind;
using vergeset::test::SampleReader;

namespace {

namespace fs = std::filesystem;
using Members = std::set<std::string>;

constexpr const char* digests = "SHA256SUMS";

std::set<std::string> named_samples() {
  std::set<std::string> names;
  for (const SampleKind& kind : sample_kinds) {
    for (int version = 1; version <= kind.newest; ++version)
      names.insert(std::string(kind.name) + "-" + std::to_string(version) + kind.ending);
  }
  return names;
}

// What stands in a record under which name, and the record without it.

void gather(const Json& json, Members& out) {
  if (json.is_object()) {
    for (const auto& [name, value] : json.items()) out.insert(name);
  }
  if (!json.is_structured()) return;
  for (const auto& [at, value] : json.items()) gather(value, out);
}

Json lacking(const Json& json, const std::string& member) {
  if (!json.is_structured()) return json;
  Json out = json.is_object() ? Json::object() : Json::array();
  for (const auto& [name, value] : json.items()) {
    if (json.is_array()) {
      out.push_back(lacking(value, member));
    } else if (name != member) {
      out[name] = lacking(value, member);
    }
  }
  return out;
}

/// Of a text with a JSON document a line, or in all lines.
std::vector<Json> documents_in(const std::string& text) {
  if (const Json whole = Json::parse(text, nullptr, false); !whole.is_discarded())
    return std::vector<Json>(1, whole);
  std::vector<Json> all;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) all.push_back(Json::parse(line));
  return all;
}

Members json_members(const std::string& text) {
  Members out;
  for (const Json& document : documents_in(text)) gather(document, out);
  return out;
}

std::string json_without(const std::string& text, const std::string& member) {
  std::string out;
  for (const Json& document : documents_in(text)) out += lacking(document, member).dump() + "\n";
  return out;
}

/// Names of units and files are no members: they have a capital or a dot in them.
bool is_member(const std::string& name) {
  return name.find_first_not_of("abcdefghijklmnopqrstuvwxyz-") == std::string::npos;
}

void gather(const YAML::Node& node, Members& out) {
  if (!node.IsMap() && !node.IsSequence()) return;
  for (const auto& one : node) {
    if (node.IsMap() && is_member(one.first.Scalar())) out.insert(one.first.Scalar());
    gather(node.IsMap() ? one.second : YAML::Node(one), out);
  }
}

YAML::Node lacking(const YAML::Node& node, const std::string& member) {
  if (!node.IsMap() && !node.IsSequence()) return YAML::Clone(node);
  YAML::Node out(node.Type());
  for (const auto& one : node) {
    if (node.IsSequence()) {
      out.push_back(lacking(YAML::Node(one), member));
    } else if (one.first.Scalar() != member) {
      out[one.first.Scalar()] = lacking(one.second, member);
    }
  }
  return out;
}

Members yaml_members(const std::string& text) {
  Members out;
  gather(*parse_record(text), out);
  return out;
}

std::string yaml_without(const std::string& text, const std::string& member) {
  return YAML::Dump(lacking(*parse_record(text), member)) + "\n";
}

SampleReader of_json(const std::string& kind, std::function<bool(const std::string&)> takes, Members always) {
  return {kind, json_members, json_without, std::move(takes), std::move(always)};
}
SampleReader of_yaml(const std::string& kind, std::function<bool(const std::string&)> takes, Members always) {
  return {kind, yaml_members, yaml_without, std::move(takes), std::move(always)};
}

// Whether a record is taken.

MemoryDisk disk_with(const std::string& path, const std::string& text) {
  MemoryDisk disk;
  disk.files[path] = text;
  return disk;
}

bool takes_commissioning(const std::string& text) {
  const MemoryDisk disk = disk_with("commissioning/LK-104/0001.jsonl", text);
  return bool(Commissioning::open(disk, "LK-104"));
}

bool takes_engines(const std::string& text) {
  return Engines::read(disk_with("engines.jsonl", text)).find("LK-104").has_value();
}

bool takes_own_engine(const std::string& text) {
  MemoryDisk disk = disk_with("listen/engine.json", text);
  return bool(start_own_engine(disk, [] { return std::string(17, 'x'); }));
}

bool takes_known_units(const std::string& text) {
  return KnownUnits::read(disk_with("known-units.jsonl", text)).unreadable() == 0;
}

bool takes_factory(const std::string& text) {
  const std::int64_t at = milliseconds_of("2026-11-25T02:00:02.000Z").value();
  return FactoryTries::read(disk_with("units/LK-104.factory.jsonl", text), "LK-104")
      .recent("credential factory", at)
      .has_value();
}

bool takes_keys(const std::string& text) {
  MemoryDisk disk = disk_with("larkmoor.keys", text);
  DiskKeyPlace place(disk, "larkmoor.keys");
  const auto store = KeyStore::open(place);
  return store && store->current("LK-104", "own");
}

bool takes_holder(const std::string& text) {
  return held_by(text).find("has not told its name") == std::string::npos;
}

std::string with_number(const std::string& text, const std::string& head, int number) {
  const auto at = text.find(head);
  REQUIRE(at != std::string::npos);
  const auto digits = at + head.size();
  return text.substr(0, digits) + std::to_string(number) +
         text.substr(text.find_first_not_of("0123456789", digits));
}

}  // namespace

TEST_CASE("every sample that is listed is there, as it was when it was kept, and no other") {
  std::map<std::string, std::string> kept;
  std::istringstream lines(test::sample_text(digests));
  for (std::string digest, name; lines >> digest >> name;) kept[name] = digest;
  std::set<std::string> there;
  for (const auto& entry : fs::directory_iterator(test::samples_folder))
    there.insert(entry.path().filename());
  there.erase("README.md");
  there.erase(digests);
  CHECK(there == named_samples());
  for (const std::string& name : named_samples()) {
    INFO(name << ", see README.md there: samples are added, and neither changed nor removed");
    CHECK(kept[name] == sha256(test::sample_text(name)));
  }
  CHECK(kept.size() == there.size());
}

TEST_CASE("no numbered version of a record is taken of which there is no sample") {
  const auto numbers = [](const std::string& kind, const std::string& head, auto takes) {
    test::numbers_have_samples(
        kind, [&](const std::string& text, int number) { return with_number(text, head, number); },
        [&](const std::string& text) { return std::stoi(text.substr(text.find(head) + head.size())); },
        takes);
  };
  numbers("audit", "\"audit\": ", [](const std::string& text) { return bool(audit_from_json(text)); });
  numbers("survey", "survey: ", [](const std::string& text) { return bool(survey_from_yaml(text)); });
}

TEST_CASE("what a reader of records does without is missing in a sample, or never was") {
  const auto change = [](const std::string& text) { return bool(change_from_yaml(text)); };
  const auto snapshot = [](const std::string& text) { return bool(snapshot_from_yaml(text)); };
  const auto survey = [](const std::string& text) { return bool(survey_from_yaml(text)); };
  const auto audit = [](const std::string& text) { return bool(audit_from_json(text)); };
  // Beside each: what it does without though every version has it, or has it where there is something to say.
  const std::vector<SampleReader> readers{
      of_yaml("change", change,
              {"begun", "ended", "files", "fleet", "kind", "of", "off-air-ms", "outcome", "steps", "units",
               "what", "who", "why"}),
      of_yaml("snapshot", snapshot, {"engine-id", "model", "object", "status-oid", "table", "taken", "unit"}),
      of_yaml("survey", survey, {"engine-id", "model", "object", "taken", "unit", "whole"}),
      of_yaml("holder", takes_holder, {"command", "process", "since"}),
      of_json("audit", audit, {"desired", "differences", "health", "items", "obstacles", "remarks", "words"}),
      of_json("cut-audit", audit, {"choice", "cut", "files", "groups", "part"}),
      of_json("engines", takes_engines, {}),
      of_json("own-engine", takes_own_engine, {}),
      of_json("known-units", takes_known_units, {"was"}),
      of_json("factory", takes_factory, {"result"}),
      of_json(
          "keys", takes_keys,
          {"auth", "auth_secret", "boots", "change", "engine", "privacy", "privacy_key", "privacy_secret"}),
      of_json("commissioning", takes_commissioning,
              {"answer", "as_found", "as_left", "change", "check", "facts", "findings", "name", "note",
               "passed", "rule", "settings", "severity", "source", "stage", "text", "unit", "who"}),
  };
  for (const SampleReader& reader : readers) test::accepts_no_more_than_samples(reader);
}
