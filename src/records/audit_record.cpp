#include "records/audit_record.h"

#include <fmt/format.h>

#include <algorithm>

#include "records/clock.h"
#include "records/journal.h"

namespace vergeset::records {

namespace {

Json to_json(const smi::Value& value, const std::string& words) {
  return {{"words", words}, {"type", smi::type_name(value.type)}, {"value", smi::exact_text(value)}};
}

Json to_json(const AuditedItem& item) {
  return {{"setting", item.setting},
          {"object", item.as_found.name},
          {"oid", item.as_found.oid.str()},
          {"as_found", to_json(item.as_found.value, item.as_found_words)},
          {"desired", to_json(item.desired, item.desired_words)}};
}

Json to_json(const AuditedUnit& unit) {
  Json differences = Json::array();
  for (const AuditedDifference& difference : unit.differences) {
    Json items = Json::array();
    for (const AuditedItem& item : difference.items) items.push_back(to_json(item));
    differences.push_back(
        {{"title", difference.title}, {"kind", difference.kind}, {"items", std::move(items)}});
  }
  return {{"unit", unit.unit},           {"verdict", unit.verdict},
          {"what", unit.what},           {"differences", std::move(differences)},
          {"obstacles", unit.obstacles}, {"remarks", unit.remarks},
          {"health", unit.health}};
}

smi::Value value_from(const Json& json) {
  const auto type = smi::type_named(json.at("type").get<std::string>());
  if (!type) throw std::runtime_error(type.problem());
  const auto value = smi::from_exact_text(*type, json.at("value").get<std::string>());
  if (!value) throw std::runtime_error(value.problem());
  return *value;
}

AuditedItem item_from(const Json& json) {
  AuditedItem item;
  item.setting = json.at("setting");
  const auto oid = smi::Oid::parse(json.at("oid").get<std::string>());
  if (!oid) throw std::runtime_error(oid.problem());
  item.as_found = {json.at("object"), *oid, value_from(json.at("as_found"))};
  item.desired = value_from(json.at("desired"));
  item.as_found_words = json.at("as_found").at("words");
  item.desired_words = json.at("desired").at("words");
  return item;
}

AuditedUnit unit_from(const Json& json) {
  AuditedUnit unit;
  unit.unit = json.at("unit");
  unit.verdict = json.at("verdict");
  unit.what = json.at("what");
  for (const Json& one : json.at("differences")) {
    AuditedDifference difference{one.at("title"), one.at("kind"), {}};
    for (const Json& item : one.at("items")) difference.items.push_back(item_from(item));
    unit.differences.push_back(std::move(difference));
  }
  unit.obstacles = json.at("obstacles").get<std::vector<std::string>>();
  unit.remarks = json.at("remarks").get<std::vector<std::string>>();
  unit.health = json.at("health").get<std::vector<std::string>>();
  return unit;
}

}  // namespace

std::string to_json(const AuditRecord& audit) {
  Json units = Json::array();
  for (const AuditedUnit& unit : audit.units) units.push_back(to_json(unit));
  const Json document{{"audit", 1},           {"fleet", audit.fleet}, {"who", audit.who},
                      {"begun", audit.begun}, {"ended", audit.ended}, {"units", std::move(units)}};
  return document.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

Result<AuditRecord> audit_from_json(const std::string& text) {
  try {
    const Json json = Json::parse(text);
    if (json.at("audit") != 1) return Problem{"expected \"audit\": 1"};
    AuditRecord audit{json.at("fleet"), json.at("who"), json.at("begun"), json.at("ended"), {}};
    for (const Json& unit : json.at("units")) audit.units.push_back(unit_from(unit));
    return audit;
  } catch (const std::exception& error) {
    return Problem{fmt::format("no audit record: {}", error.what())};
  }
}

std::string keep_audit(Disk& disk, const AuditRecord& audit, std::int64_t begun) {
  const std::string stem = "audits/" + file_stamp(begun);
  std::string path = stem + ".json";
  for (int again = 2; disk.read(path).has_value(); ++again) path = fmt::format("{}_{}.json", stem, again);
  disk.write_whole(path, to_json(audit));
  return path;
}

std::vector<std::string> all_audits(const Disk& disk) {
  std::vector<std::string> paths;
  for (const std::string& name : disk.list("audits")) {
    if (name.size() > 5 && name.substr(name.size() - 5) == ".json") paths.push_back("audits/" + name);
  }
  std::sort(paths.begin(), paths.end());
  return paths;
}

std::optional<AuditRecord> find_audit(const Disk& disk, const std::string& path) {
  const auto text = disk.read(path);
  if (!text) return std::nullopt;
  auto audit = audit_from_json(*text);
  if (!audit) return std::nullopt;
  return *std::move(audit);
}

}  // namespace vergeset::records
