#include "records/audit_record.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "records/clock.h"
#include "records/journal.h"
#include "records/json_read.h"
#include "smi/inert.h"
#include "smi/words.h"

namespace vergeset::records {

namespace {

constexpr int version = 2;  // 1 had texts for remarks and health, and neither part nor choice

std::string line(const Json& json) {
  return smi::inert_json(json.dump(-1, ' ', false, Json::error_handler_t::replace));
}

void put(Json& out, const char* name, const std::string& text) {
  if (!text.empty()) out[name] = text;
}
void put(Json& out, const char* name, bool flag) {
  if (flag) out[name] = true;
}
void put(Json& out, const char* name, const std::vector<std::string>& texts) {
  if (!texts.empty()) out[name] = texts;
}
template <class T, class ToJson>
void put(Json& out, const char* name, const std::vector<T>& all, ToJson to_json_of_one) {
  if (all.empty()) return;
  Json list = Json::array();
  for (const T& one : all) list.push_back(to_json_of_one(one));
  out[name] = std::move(list);
}

/// Long octets stand once: their words are their hex.
Json json_of(const smi::Value& value, const std::string& words) {
  const std::string exact = smi::exact_text(value);
  Json out = Json::object();
  if (words != exact) out["words"] = words;
  out["type"] = smi::type_name(value.type);
  out["value"] = exact;
  return out;
}

Json json_of(const AuditedItem& item) {
  Json out{{"setting", item.setting},
           {"object", item.as_found.name},
           {"oid", item.as_found.oid.str()},
           {"as_found", json_of(item.as_found.value, item.as_found_words)}};
  if (item.desired) out["desired"] = json_of(*item.desired, item.desired_words);
  put(out, "needs_standby", item.needs_standby);
  put(out, "cuts_off", item.cuts_off);
  put(out, "asked", item.asked);
  return out;
}

Json json_of(const AuditedDifference& difference) {
  Json out{{"name", difference.name}, {"kind", difference.kind}};
  if (!difference.table.empty()) {
    out["table"] = difference.table;
    out["row"] = difference.row;
  }
  put(out, "asked", difference.asked);
  put(out, "needs_standby", difference.needs_standby);
  put(out, "items", difference.items, [](const AuditedItem& item) { return json_of(item); });
  return out;
}

Json json_of(const AuditedRemark& remark) {
  return {{"kind", remark.kind}, {"name", remark.name}, {"text", remark.text}};
}

Json json_of(const AuditedFinding& finding) {
  Json out = Json::object();
  put(out, "rule", finding.rule);
  put(out, "severity", finding.severity);
  out["text"] = finding.text;
  out["source"] = finding.source;
  return out;
}

Json json_of(const AuditedUnit& unit) {
  Json out{{"unit", unit.unit}, {"verdict", unit.verdict}};
  put(out, "what", unit.what);
  put(out, "taken", unit.taken);
  put(out, "differences", unit.differences, [](const AuditedDifference& one) { return json_of(one); });
  put(out, "obstacles", unit.obstacles);
  put(out, "remarks", unit.remarks, [](const AuditedRemark& one) { return json_of(one); });
  put(out, "health", unit.health, [](const AuditedFinding& one) { return json_of(one); });
  put(out, "factory", unit.doors, [](const FactoryTry& one) {
    return Json{{"name", one.name}, {"result", result_name(one.result)}, {"at", one.at}};
  });
  return out;
}

Json json_of(const AuditChoice& choice) {
  Json out = Json::object();
  put(out, "units", choice.units);
  put(out, "groups", choice.groups);
  put(out, "models", choice.models);
  put(out, "except", choice.except);
  return out;
}

std::string text_at(const Json& json, const char* name) {
  return json.value(name, std::string());
}

/// The member, or an empty list where it was left out.
Json list_at(const Json& json, const char* name) {
  return json.value(name, Json::array());
}

std::vector<std::string> texts_at(const Json& json, const char* name) {
  return list_at(json, name).get<std::vector<std::string>>();
}

smi::Value value_from(const Json& json) {
  const auto type = smi::type_named(json.at("type").get<std::string>());
  if (!type) throw std::runtime_error(type.problem());
  const auto value = smi::from_exact_text(*type, json.at("value").get<std::string>());
  if (!value) throw std::runtime_error(value.problem());
  return *value;
}

std::string words_from(const Json& json) {
  return json.value("words", json.at("value").get<std::string>());
}

AuditedItem item_from(const Json& json) {
  AuditedItem item;
  item.setting = json.at("setting");
  const auto oid = smi::Oid::parse(json.at("oid").get<std::string>());
  if (!oid) throw std::runtime_error(oid.problem());
  item.as_found = {json.at("object"), *oid, value_from(json.at("as_found"))};
  item.as_found_words = words_from(json.at("as_found"));
  if (json.contains("desired")) {
    item.desired = value_from(json.at("desired"));
    item.desired_words = words_from(json.at("desired"));
  }
  item.needs_standby = json.value("needs_standby", false);
  item.cuts_off = json.value("cuts_off", false);
  item.asked = text_at(json, "asked");
  return item;
}

AuditedDifference difference_from(const Json& json) {
  AuditedDifference difference;
  difference.name = json.contains("name") ? json.at("name") : json.at("title");
  difference.kind = json.at("kind");
  difference.table = text_at(json, "table");
  if (json.contains("row")) {
    const auto row = number_in(json, "row");
    if (!row || *row < 0 || *row > std::numeric_limits<std::uint32_t>::max())
      throw std::runtime_error("\"row\" is no index of a row");
    difference.row = static_cast<std::uint32_t>(*row);
  }
  difference.asked = text_at(json, "asked");
  difference.needs_standby = json.value("needs_standby", false);
  for (const Json& item : list_at(json, "items")) difference.items.push_back(item_from(item));
  return difference;
}

AuditedRemark remark_from(const Json& json) {
  if (json.is_string()) return {"", "", json};
  return {json.at("kind"), json.at("name"), json.at("text")};
}

AuditedFinding finding_from(const Json& json) {
  if (json.is_string()) return {"", "", json, ""};
  return {text_at(json, "rule"), text_at(json, "severity"), json.at("text"), json.at("source")};
}

FactoryTry door_from(const Json& json) {
  const auto result = result_named(json.at("result").get<std::string>());
  if (!result)
    throw std::runtime_error("no result of a try: " + smi::shown(json.at("result").get<std::string>()));
  return {json.at("name"), *result, text_at(json, "at")};
}

AuditedUnit unit_from(const Json& json) {
  AuditedUnit unit;
  unit.unit = json.at("unit");
  unit.verdict = json.at("verdict");
  unit.what = text_at(json, "what");
  unit.taken = text_at(json, "taken");
  for (const Json& one : list_at(json, "differences")) unit.differences.push_back(difference_from(one));
  unit.obstacles = texts_at(json, "obstacles");
  for (const Json& one : list_at(json, "remarks")) unit.remarks.push_back(remark_from(one));
  for (const Json& one : list_at(json, "health")) unit.health.push_back(finding_from(one));
  for (const Json& one : list_at(json, "factory")) unit.doors.push_back(door_from(one));
  return unit;
}

std::string moment_from(const Json& json, const char* name) {
  std::string text = json.at(name);
  if (!milliseconds_of(text))
    throw std::runtime_error(fmt::format("{}: no time: {}", name, smi::shown(text)));
  return text;
}

AuditHead head_from(const Json& json) {
  AuditHead head;
  head.fleet = json.at("fleet");
  head.who = json.at("who");
  head.part = text_at(json, "part");
  head.files = text_at(json, "files");
  head.begun = moment_from(json, "begun");
  head.ended = moment_from(json, "ended");
  const Json choice = json.value("choice", Json::object());
  head.choice = {texts_at(choice, "units"), texts_at(choice, "groups"), texts_at(choice, "models"),
                 texts_at(choice, "except")};
  return head;
}

/// "_2-of-4" of "2/4", nothing of what is no single part.
std::string part_suffix(const std::string& part) {
  const auto slash = part.find('/');
  return slash == std::string::npos ? "" : "_" + part.substr(0, slash) + "-of-" + part.substr(slash + 1);
}

}  // namespace

void AuditText::add(const AuditedUnit& unit) {
  units_ += (units_.empty() ? "\n  " : ",\n  ") + line(json_of(unit));
}

std::string AuditText::under(const AuditHead& head) const {
  const Json members{{"audit", version},
                     {"fleet", head.fleet},
                     {"who", head.who},
                     {"part", head.part},
                     {"choice", json_of(head.choice)},
                     {"files", head.files},
                     {"begun", head.begun},
                     {"ended", head.ended}};
  std::string text = "{";
  for (const auto& [name, value] : members.items()) text += "\n \"" + name + "\": " + line(value) + ",";
  return text + "\n \"units\": [" + units_ + (units_.empty() ? "]" : "\n ]") + "\n}\n";
}

std::string to_json(const AuditRecord& audit) {
  AuditText text;
  for (const AuditedUnit& unit : audit.units) text.add(unit);
  return text.under(audit.head);
}

Result<AuditRecord> audit_from_json(const std::string& text) {
  try {
    const auto read = parse_json(text);
    if (!read) return Problem{fmt::format("no audit record: {}", read.problem())};
    const Json& json = *read;
    if (const Json& found = json.at("audit"); found != version && found != 1) {
      return Problem{fmt::format("expected \"audit\": {}, found {}", version, smi::shown(line(found)))};
    }
    AuditRecord audit{head_from(json), {}};
    for (const Json& unit : json.at("units")) audit.units.push_back(unit_from(unit));
    return audit;
  } catch (const std::exception& error) {
    return Problem{fmt::format("no audit record: {}", error.what())};
  }
}

std::string keep_audit(Disk& disk, const AuditHead& head, const AuditText& text) {
  const std::string stem =
      "audits/" + file_stamp(milliseconds_of(head.begun).value()) + part_suffix(head.part);
  std::string path = stem + ".json";
  for (int again = 2; disk.read(path).has_value(); ++again) path = fmt::format("{}_{}.json", stem, again);
  disk.write_whole(path, text.under(head));
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
