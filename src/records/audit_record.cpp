#include "records/audit_record.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
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

Json json_of(const FoundAt& at) {
  Json out = Json::object();
  const auto put_number = [&](const char* name, const std::optional<double>& number) {
    if (number) out[name] = *number;
  };
  put_number("latitude", at.latitude);
  put_number("longitude", at.longitude);
  put_number("height", at.height);
  put_number("away", at.away);
  put_number("bearing", at.bearing);
  put(out, "unknown", at.unknown);
  return out;
}

Json json_of(const Counted& counted) {
  Json out{{"at", stamp(counted.taken)}};
  if (counted.up) out["up"] = *counted.up;
  if (!counted.sent.empty()) out["sent"] = counted.sent;
  put(out, "restarts", counted.restarts, [](std::int64_t when) { return Json(stamp(when)); });
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
  if (unit.position != FoundAt{}) out["position"] = json_of(unit.position);
  if (unit.counted.taken != 0) out["counted"] = json_of(unit.counted);
  put(out, "ends", unit.ends, [](const Expiry& one) {
    Json end{{"what", one.what}, {"at", stamp(one.at)}};
    put(end, "or_later", one.or_later);
    put(end, "renewed", one.renewed);
    return end;
  });
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

std::optional<double> number_from(const Json& json, const char* name, double most) {
  if (!json.contains(name)) return std::nullopt;
  const Json& found = json.at(name);
  if (!found.is_number()) throw std::runtime_error(fmt::format("\"{}\" is no number", name));
  const auto number = found.get<double>();
  if (!(std::abs(number) <= most)) throw std::runtime_error(fmt::format("\"{}\" is out of range", name));
  return number;
}

FoundAt position_from(const Json& json) {
  constexpr double round_the_earth_m = 5e7;
  FoundAt at;
  at.latitude = number_from(json, "latitude", 90);
  at.longitude = number_from(json, "longitude", 180);
  at.height = number_from(json, "height", round_the_earth_m);
  at.away = number_from(json, "away", round_the_earth_m);
  at.bearing = number_from(json, "bearing", 360);
  at.unknown = text_at(json, "unknown");
  return at;
}

std::int64_t milliseconds_from(const Json& json) {
  const std::string text = json.get<std::string>();
  const auto when = milliseconds_of(text);
  if (!when) throw std::runtime_error("no time: " + smi::shown(text));
  return *when;
}

Counted counted_from(const Json& json) {
  constexpr std::int64_t most = std::numeric_limits<std::uint32_t>::max();
  Counted counted;
  counted.taken = milliseconds_from(json.at("at"));
  counted.up = number_in(json, "up");
  if (json.contains("up") && (!counted.up || *counted.up < 0 || *counted.up > most))
    throw std::runtime_error("\"up\" is no time since power on");
  const Json sent = json.value("sent", Json::object());
  for (const auto& [name, value] : sent.items()) {
    const auto number = number_in(sent, name.c_str());
    if (!number || *number < 0 || *number > most) throw std::runtime_error("\"sent\" holds no counter");
    counted.sent[name] = static_cast<std::uint32_t>(*number);
  }
  for (const Json& one : list_at(json, "restarts")) counted.restarts.push_back(milliseconds_from(one));
  return counted;
}

Expiry expiry_from(const Json& json) {
  return {json.at("what"), milliseconds_from(json.at("at")), json.value("or_later", false),
          json.value("renewed", false)};
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
  if (json.contains("position")) unit.position = position_from(json.at("position"));
  if (json.contains("counted")) unit.counted = counted_from(json.at("counted"));
  for (const Json& one : list_at(json, "ends")) unit.ends.push_back(expiry_from(one));
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
  if (json.contains("cut")) head.cut = moment_from(json, "cut");
  const Json choice = json.value("choice", Json::object());
  head.choice = {texts_at(choice, "units"), texts_at(choice, "groups"), texts_at(choice, "models"),
                 texts_at(choice, "except")};
  return head;
}

/// What one line of a record says of a unit; nothing where it says nothing of one.
std::optional<std::pair<std::string, Counted>> counted_in(std::string_view text) {
  if (text.empty() || text.front() != '{') return std::nullopt;
  try {
    const auto read = parse_json(text);
    if (!read || !read->contains("unit")) return std::nullopt;
    const Json& json = *read;
    Counted counted;
    if (json.contains("counted")) counted = counted_from(json.at("counted"));
    return std::pair(json.at("unit").get<std::string>(), std::move(counted));
  } catch (const std::exception&) {
    return std::nullopt;
  }
}

/// Calls with each line that holds a unit, as AuditText writes them.
template <class Take>
void each_unit_line(std::string_view text, const Take& take) {
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view one = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (!one.starts_with("  {")) continue;
    one.remove_prefix(2);
    if (one.ends_with(',')) one.remove_suffix(1);
    take(one);
  }
}

constexpr std::string_view units_begin = "\n \"units\": [";

Json parsed(std::string_view text) {
  auto read = parse_json(text);
  if (!read) throw std::runtime_error(read.problem());
  return *std::move(read);
}

AuditHead head_of_record(const Json& json) {
  if (const Json& found = json.at("audit"); found != version && found != 1)
    throw std::runtime_error(
        fmt::format("expected \"audit\": {}, found {}", version, smi::shown(line(found))));
  return head_from(json);
}

/// Calls with each of the units of a list that AuditText wrote, a line each.
template <class Take>
void each_listed(std::string_view lines, const Take& take) {
  std::size_t number = 0;
  for (bool more = !lines.empty(); more;) {
    const std::size_t begin = lines.find_first_not_of("\n ");
    const std::size_t end = std::min(lines.find('\n', std::min(begin, lines.size())), lines.size());
    std::string_view one = lines.substr(std::min(begin, end), end - std::min(begin, end));
    lines.remove_prefix(end);
    ++number;
    more = one.ends_with(',');
    if (more) one.remove_suffix(1);
    const auto json = parse_json(one);
    if (!json) throw std::runtime_error(fmt::format("unit {} of the list is no JSON", number));
    take(*json);
  }
  if (lines.find_first_not_of("\n ") != std::string_view::npos)
    throw std::runtime_error(fmt::format("no comma behind unit {} of the list", number));
}

/// Where the list of units begins, of a record as AuditText writes it; otherwise nothing. The first version
/// wrote a unit over many lines.
std::optional<std::size_t> units_at(const std::string& text) {
  const std::size_t begin = text.find(units_begin);
  if (begin == std::string::npos || !text.ends_with("]\n}\n")) return std::nullopt;
  const std::string_view list = std::string_view(text).substr(begin + units_begin.size());
  const bool as_written = list.starts_with("\n  {\"") || list.starts_with(']');
  return as_written ? std::optional(begin) : std::nullopt;
}

AuditHead head_before(const std::string& text, std::size_t units) {
  return head_of_record(parsed(text.substr(0, units) + std::string(units_begin) + "]}"));
}

/// A record as AuditText writes it, line by line; whatever else has the same members is read whole.
template <class Take>
AuditHead read_members(const std::string& text, const Take& take) {
  const auto begin = units_at(text);
  if (!begin) {
    const Json json = parsed(text);
    AuditHead head = head_of_record(json);
    for (const Json& unit : json.at("units")) take(unit);
    return head;
  }
  AuditHead head = head_before(text, *begin);
  std::string_view rest = std::string_view(text).substr(*begin + units_begin.size());
  rest.remove_suffix(std::string_view("]\n}\n").size());
  each_listed(rest, take);
  return head;
}

template <class Take>
Result<AuditHead> read_record(const std::string& text, const Take& take) {
  try {
    return read_members(text, take);
  } catch (const std::exception& error) {
    return Problem{fmt::format("no audit record: {}", error.what())};
  }
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
  Json members{{"audit", version},
               {"fleet", head.fleet},
               {"who", head.who},
               {"part", head.part},
               {"choice", json_of(head.choice)},
               {"files", head.files},
               {"begun", head.begun},
               {"ended", head.ended}};
  std::string text = "{";
  put(members, "cut", head.cut);
  for (const auto& [name, value] : members.items()) text += "\n \"" + name + "\": " + line(value) + ",";
  return text + "\n \"units\": [" + units_ + (units_.empty() ? "]" : "\n ]") + "\n}\n";
}

std::string to_json(const AuditRecord& audit) {
  AuditText text;
  for (const AuditedUnit& unit : audit.units) text.add(unit);
  return text.under(audit.head);
}

Result<AuditHead> read_audit_head(const std::string& text) {
  const auto units = units_at(text);
  if (!units) return read_record(text, [](const Json&) {});
  try {
    return head_before(text, *units);
  } catch (const std::exception& error) {
    return Problem{fmt::format("no audit record: {}", error.what())};
  }
}

Result<AuditHead> read_audit(const std::string& text, const std::function<void(const AuditLine&)>& take) {
  return read_record(text, [&](const Json& unit) {
    take({unit.at("unit").get<std::string>(), unit.at("verdict").get<std::string>(),
          [&] { return unit_from(unit); }});
  });
}

Result<AuditRecord> audit_from_json(const std::string& text) {
  AuditRecord audit;
  auto head = read_audit(text, [&](const AuditLine& unit) { audit.units.push_back(unit.whole()); });
  if (!head) return Problem{head.problem()};
  audit.head = *std::move(head);
  return audit;
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

std::map<std::string, Counted> last_counted(const Disk& disk, std::set<std::string> units) {
  constexpr std::size_t most_octets = 64 << 20;
  std::map<std::string, Counted> all;
  const std::vector<std::string> paths = all_audits(disk);
  std::size_t octets = 0;
  for (std::size_t i = paths.size(); i > 0 && !units.empty() && octets < most_octets; --i) {
    const auto text = disk.read(paths[i - 1]);
    if (!text) continue;
    octets += text->size();
    each_unit_line(*text, [&](std::string_view one) {
      auto found = counted_in(one);
      // What a unit had before is kept on in the record of an audit that it did not answer.
      if (!found || units.erase(found->first) == 0) return;
      if (found->second.taken != 0) all.insert(std::move(*found));
    });
  }
  return all;
}

}  // namespace vergeset::records
