#include "fleet/import_fields.h"

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "fleet/import_cells.h"
#include "fleet/names.h"
#include "fleet/site.h"
#include "smi/quantity.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

using Takes = ImportField::Takes;

constexpr std::array<std::pair<std::string_view, Takes>, 8> unit_fields{{{"unit", Takes::unit},
                                                                         {"address", Takes::address},
                                                                         {"port", Takes::port},
                                                                         {"model", Takes::model},
                                                                         {"groups", Takes::groups},
                                                                         {"credential", Takes::credential},
                                                                         {"engine-id", Takes::hex},
                                                                         {"fingerprint", Takes::hex}}};

bool site_accepts(const std::string& field, const std::string& text) {
  Site site;
  Faults faults;
  add_site_field(site, {field, {}, text, {}, false}, faults);
  return !faults.any();
}

/// The unit that a bare number of this field is in; empty where it is no measure.
std::string unit_of_field(const std::string& field) {
  Site site;
  site.fields.set(field, "1");
  const auto quantity = smi::Quantity::parse(site_text(site, field).value_or(""));
  return quantity ? quantity->unit : "";
}

ImportField site_field(const std::string& field) {
  ImportField found{"site." + field, Takes::words, unit_of_field(field)};
  if (field == "latitude") {
    found.takes = Takes::latitude;
  } else if (field == "longitude") {
    found.takes = Takes::longitude;
  } else if (!found.unit.empty()) {
    found.takes = Takes::measure;
  } else if (!site_accepts(field, "x")) {
    if (site_accepts(field, "2026-05-01")) found.takes = Takes::date;
    if (site_accepts(field, "yes") && site_accepts(field, "no")) found.takes = Takes::yes_no;
    if (site_accepts(field, "00:1a:2b:3c:4d:5e")) found.takes = Takes::hardware;
  }
  return found;
}

/// The trade's words for each field, the likeliest first: those of agencies' inventories, as-built sheets and
/// installers' forms (common practice, no source). Words that mean a field of ours only now and then are
/// not here: a wrong column is worse than one that a person has to name.
struct TradeWords {
  std::string_view field;
  std::vector<std::string_view> headers;
};

const std::vector<TradeWords>& trade_words() {
  static const std::vector<TradeWords> table{
      {"unit", {"unit",           "unit name",  "unit id",   "rsu",         "rsu name",  "rsu id",
                "device name",    "device id",  "name",      "device",      "hostname",  "host name",
                "host",           "asset name", "asset id",  "asset no",    "asset tag", "equipment id",
                "equipment name", "site id",    "site name", "location id", "id"}},
      {"address",
       {"address", "ip address", "ip", "ipv4 address", "ipv4", "ip v4", "ipv6 address", "ipv6",
        "management ip", "mgmt ip", "management address", "static ip", "lan ip", "ethernet ip", "ip addr",
        "eth0 ip", "network address"}},
      {"port", {"port", "snmp port", "udp port"}},
      {"model", {"model", "mib", "snmp model", "standard", "mib version", "specification", "spec"}},
      {"groups", {"groups", "group", "vergeset groups"}},
      {"credential", {"credential"}},
      {"engine-id", {"engine id", "snmp engine id", "engineid", "snmpengineid"}},
      {"fingerprint", {"fingerprint", "certificate fingerprint"}},
      {"position",
       {"position", "coordinates", "coords", "lat long", "lat lon", "lat lng", "latitude longitude", "gps",
        "gps coordinates", "gps position", "gps location", "location gps"}},
      {"site.latitude",
       {"latitude", "lat", "gps latitude", "gps lat", "surveyed latitude", "y latitude", "lat wgs84",
        "latitude wgs84", "lat dd", "latitude dd", "lat dms", "latitude dms"}},
      {"site.longitude",
       {"longitude", "long", "lon", "lng", "gps longitude", "gps long", "gps lon", "surveyed longitude",
        "x longitude", "long wgs84", "lon wgs84", "longitude wgs84", "long dd", "lon dd", "longitude dd",
        "long dms", "longitude dms"}},
      {"site.elevation",
       {"elevation", "elev", "altitude", "alt", "ground elevation", "surveyed elevation", "gps elevation",
        "gps altitude", "height above sea level", "z"}},
      {"site.survey-accuracy",
       {"survey accuracy", "accuracy", "gps accuracy", "position accuracy", "horizontal accuracy"}},
      {"site.surveyed", {"surveyed", "survey date", "date surveyed", "surveyed on", "date of survey"}},
      {"site.place",
       {"place", "location", "intersection", "location description", "site description", "cross streets",
        "cross street", "intersection name", "site location", "street address", "site", "junction",
        "location name"}},
      {"site.pole", {"pole", "pole no", "pole id", "pole name", "pole tag", "mast no", "column no"}},
      {"site.structure",
       {"structure", "structure type", "mounted on", "mount", "mounting", "mount type", "mounting type",
        "pole type", "mount structure", "mounting location"}},
      {"site.mount-height",
       {"mount height", "mounting height", "mounted height", "height", "height above ground",
        "install height", "installation height", "hgt", "mount hgt", "height agl", "agl"}},
      {"site.cable-length",
       {"cable length", "cable", "cable run", "cable run length", "ethernet length", "ethernet run",
        "poe run", "run length", "cat5 run", "cat6 run", "length of cable", "ethernet cable length",
        "cable footage", "poe cable length"}},
      {"site.cable-category",
       {"cable category", "cable type", "cable cat", "category", "ethernet cable type", "ethernet cable",
        "type of cable"}},
      {"site.cable-rating",
       {"cable rating", "cable jacket", "jacket", "cable jacket type", "outdoor rating"}},
      {"site.cable-route", {"cable route", "cable environment", "run environment"}},
      {"site.surge-protector",
       {"surge protector", "surge protection", "surge", "surge arrester", "surge arrestor",
        "surge suppressor", "spd", "lightning arrester", "lightning arrestor", "lightning protection",
        "surge protector type"}},
      {"site.bond",
       {"bond", "bonding", "bonded", "grounding", "ground", "grounded", "earthing", "bonded to",
        "ground bond"}},
      {"site.bond-resistance", {"bond resistance", "bond reading", "bonding resistance", "bond ohms"}},
      {"site.earth-resistance",
       {"earth resistance", "earth reading", "ground resistance", "ground reading", "ground rod resistance",
        "grounding resistance", "ground test", "earth ohms", "ground ohms"}},
      {"site.injector",
       {"injector", "poe injector", "poe", "power injector", "poe switch port", "switch port", "poe source",
        "injector model"}},
      {"site.injector-voltage",
       {"injector voltage", "poe injector voltage", "injector output", "voltage at injector"}},
      {"site.supply-voltage",
       {"supply voltage", "voltage", "input voltage", "poe voltage", "voltage at unit", "measured voltage",
        "power voltage"}},
      {"site.antennas", {"antennas", "antenna", "antenna type", "antenna model"}},
      {"site.network", {"network", "subnet", "network cidr", "cidr"}},
      {"site.gateway", {"gateway", "default gateway", "gateway ip", "gw", "router", "default gw"}},
      {"site.serial", {"serial", "serial no", "sn", "s n", "ser no", "serialno", "manufacturer serial no"}},
      {"site.mac",
       {"mac", "mac address", "hardware address", "ethernet mac", "mac id", "mac addr", "ethernet address",
        "eth0 mac", "physical address", "lan mac"}},
      {"site.installer",
       {"installer", "installed by", "contractor", "install contractor", "technician",
        "installation contractor", "tech"}},
      {"site.installed",
       {"installed", "install date", "installation date", "date installed", "installed on",
        "date of installation", "date of install", "in service date", "in service", "commissioned",
        "commission date", "inst date"}},
      {"site.inspected",
       {"inspected", "inspection date", "last inspection", "last inspected", "date inspected"}},
      {"site.note", {"note", "notes", "remarks", "remark", "comments", "comment"}},
  };
  return table;
}

/// Lower-case words of letters and digits, "no" for number.
std::vector<std::string> header_words(std::string_view text) {
  std::vector<std::string> words;
  std::string word;
  const auto end_word = [&] {
    if (word == "number" || word == "num" || word == "nr" || word == "nbr") word = "no";
    if (!word.empty() && word != "of" && word != "the") words.push_back(word);
    word.clear();
  };
  for (const char c : smi::lower(text)) {
    const bool letter =
        (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || static_cast<unsigned char>(c) >= 0x80;
    if (letter) {
      word += c;
      continue;
    }
    end_word();
    if (c == '#') words.emplace_back("no");
  }
  end_word();
  return words;
}

std::string run_together(const std::vector<std::string>& words) {
  std::string all;
  for (const std::string& word : words) all += word;
  return all;
}

struct Meant {
  std::string field;
  int rank = 0;
};

/// Every header that means a field, run together.
const std::map<std::string, Meant>& known_headers() {
  static const std::map<std::string, Meant> known = [] {
    std::map<std::string, Meant> made;
    for (const std::string& field : import_field_names()) {
      const std::string bare = field.rfind("site.", 0) == 0 ? field.substr(5) : field;
      made.emplace(run_together(header_words(bare)), Meant{field, 0});
      made.emplace(run_together(header_words(field)), Meant{field, 0});
    }
    for (const TradeWords& each : trade_words()) {
      if (!import_field(each.field)) continue;
      int rank = 0;
      for (const std::string_view header : each.headers) {
        made.emplace(run_together(header_words(header)), Meant{std::string(each.field), rank++});
      }
    }
    return made;
  }();
  return known;
}

/// What the words say, or what they say without "RSU" and the like in front.
const Meant* meant_by(std::vector<std::string> words) {
  const auto found = known_headers().find(run_together(words));
  if (found != known_headers().end()) return &found->second;
  constexpr std::array<std::string_view, 6> qualifiers{"rsu",      "unit",      "device",
                                                       "roadside", "equipment", "v2x"};
  const bool qualified =
      words.size() > 1 && std::find(qualifiers.begin(), qualifiers.end(), words[0]) != qualifiers.end();
  if (!qualified) return nullptr;
  words.erase(words.begin());
  return meant_by(std::move(words));
}

/// "Cable (ft)" is "Cable" and "ft".
std::pair<std::string, std::string> without_brackets(const std::string& header) {
  const std::size_t open = header.find_first_of("([");
  if (open == std::string::npos) return {header, ""};
  const std::size_t close = header.find_first_of(")]", open);
  const std::string inside = header.substr(open + 1, close == std::string::npos ? close : close - open - 1);
  const std::string behind = close == std::string::npos ? "" : header.substr(close + 1);
  return {header.substr(0, open) + " " + behind, std::string(smi::trimmed(inside))};
}

char letter_in(const std::string& word) {
  const std::string small = smi::lower(word);
  for (const std::string_view side : {"north", "south", "east", "west"}) {
    if (small == side || small == side.substr(0, 1)) return static_cast<char>(side.front() - 'a' + 'A');
  }
  return 0;
}

/// Takes what a header says of the cells' unit or side; false where it is neither.
bool take_unit(HeaderSays& says, const std::string& word) {
  if (says.field->takes == Takes::latitude || says.field->takes == Takes::longitude) {
    says.letter = letter_in(word);
    return says.letter != 0 || unit_spelt(word, "deg").has_value();
  }
  if (says.field->takes != Takes::measure) return false;
  const auto unit = unit_spelt(word, says.field->unit);
  if (unit) says.unit = *unit;
  return unit.has_value();
}

HeaderSays says_field(const Meant& meant) {
  HeaderSays says;
  says.field = import_field(meant.field);
  says.rank = meant.rank;
  return says;
}

}  // namespace

std::optional<ImportField> import_field(std::string_view name) {
  if (name == "position") return ImportField{"position", Takes::position, ""};
  for (const auto& [field, takes] : unit_fields) {
    if (name == field) return ImportField{std::string(field), takes, ""};
  }
  if (name.rfind("values.", 0) == 0) {
    const std::string_view value = name.substr(7);
    const bool fits = plain_name(value) && value.find('.') == std::string_view::npos && value != "unit" &&
                      value != "address" && value != "model";
    return fits ? std::optional(ImportField{std::string(name), Takes::value, ""}) : std::nullopt;
  }
  const std::string field(name.rfind("site.", 0) == 0 ? name.substr(5) : name);
  if (!known_site_field(field)) return std::nullopt;
  return site_field(field);
}

std::vector<std::string> import_field_names() {
  std::vector<std::string> names;
  for (const auto& [field, takes] : unit_fields) names.emplace_back(field);
  names.emplace_back("position");
  for (const std::string& field : site_field_names()) names.push_back("site." + field);
  return names;
}

HeaderSays header_says(const std::string& header) {
  if (const Meant* whole = meant_by(header_words(header))) return says_field(*whole);
  const auto [outside, inside] = without_brackets(header);
  std::vector<std::string> words = header_words(outside);
  if (const Meant* meant = meant_by(words)) {
    HeaderSays says = says_field(*meant);
    if (!inside.empty() && !take_unit(says, inside)) says.unknown_unit = inside;
    return says;
  }
  // "Cable ft", "Mounting height ft.", "Long W"
  if (words.size() < 2) return {};
  const std::string last = words.back();
  words.pop_back();
  const Meant* meant = meant_by(std::move(words));
  if (meant == nullptr) return {};
  HeaderSays says = says_field(*meant);
  return take_unit(says, last) ? says : HeaderSays{};
}

}  // namespace vergeset::fleet
