#include "fleet/site.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>

#include "fleet/antennas.h"
#include "fleet/subnet.h"
#include "smi/quantity.h"
#include "smi/suggest.h"
#include "smi/syntax.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

/// The fields that are measured, with what is possible on Earth and on a pole.
struct Measure {
  std::string_view field;
  std::string_view unit;
  double low;
  double high;
};

constexpr Measure measures[] = {
    {"mount-height", "m", 0, 200},        {"latitude", "deg", -90, 90},
    {"longitude", "deg", -180, 180},      {"elevation", "m", -1000, 10000},
    {"survey-accuracy", "m", 0, 1000},    {"cable-length", "m", 0, 10000},
    {"supply-voltage", "V", -1000, 1000}, {"injector-voltage", "V", -1000, 1000},
    {"bond-resistance", "ohm", 0, 1e6},   {"earth-resistance", "ohm", 0, 1e6},
};

const Measure* measure_of(std::string_view field) {
  const auto found = std::find_if(std::begin(measures), std::end(measures),
                                  [&](const Measure& m) { return m.field == field; });
  return found == std::end(measures) ? nullptr : found;
}

/// In the measure's unit; nothing where the text is no such quantity.
std::optional<double> measured(const Measure& measure, std::string_view text) {
  const auto quantity = smi::Quantity::parse(text);
  if (!quantity) return std::nullopt;
  const auto number = smi::number_in_unit(*quantity, measure.unit);
  return number ? std::optional(*number) : std::nullopt;
}

void check_measure(const Measure& measure, Site& site, const Written& field, Faults& faults) {
  const auto number = measured(measure, field.text);
  if (!number) {
    faults.add(field.place, fmt::format("expected a number of {} for {}, found {}", measure.unit,
                                        measure.field, field.text));
    return;
  }
  if (*number < measure.low || *number > measure.high) {
    faults.add(field.place, fmt::format("expected {} to {} {} for {}, found {}", measure.low, measure.high,
                                        measure.unit, measure.field, field.text));
    return;
  }
  if (measure.field == "latitude") site.latitude = number;
  if (measure.field == "longitude") site.longitude = number;
}

/// "2026-05-01", and such a day was or will be.
bool is_date(std::string_view text) {
  constexpr std::string_view shape = "dddd-dd-dd";
  const bool shaped =
      std::equal(text.begin(), text.end(), shape.begin(), shape.end(),
                 [](char c, char wanted) { return wanted == 'd' ? c >= '0' && c <= '9' : c == wanted; });
  if (!shaped) return false;
  const auto number = [&](std::size_t from, std::size_t count) {
    unsigned value = 0;
    for (const char digit : text.substr(from, count)) value = value * 10 + static_cast<unsigned>(digit - '0');
    return value;
  };
  return std::chrono::year_month_day(std::chrono::year(static_cast<int>(number(0, 4))),
                                     std::chrono::month(number(5, 2)), std::chrono::day(number(8, 2)))
      .ok();
}

void check_date(const Written& field, Faults& faults) {
  if (is_date(field.text)) return;
  faults.add(field.place,
             fmt::format("expected a date as in 2026-05-01 for {}, found {}", field.name, field.text));
}

void check_mac(const Written& field, Faults& faults) {
  smi::Syntax syntax;
  syntax.form = smi::Form::mac;
  const auto value = smi::encode(syntax, field.text);
  if (!value) faults.add(field.place, "expected a hardware address for mac: " + value.problem());
}

bool is_date_field(std::string_view name) {
  return name == "installed" || name == "surveyed" || name == "inspected";
}

void check_word(const Written& field, const std::vector<std::string>& words, Faults& faults) {
  if (std::find(words.begin(), words.end(), field.text) != words.end()) return;
  faults.add(field.place,
             fmt::format("expected {} for {}, found {}", fmt::join(words, " or "), field.name, field.text));
}

template <class Parsed>
void check_with(const Written& field, const Result<Parsed>& parsed, Faults& faults) {
  if (!parsed) faults.add(field.place, field.name + ": " + parsed.problem());
}

}  // namespace

const std::vector<std::pair<std::string, std::string>>& site_fields() {
  static const std::vector<std::pair<std::string, std::string>> fields = {
      {"place", "where it stands, in words"},
      {"pole", "number or name of the pole"},
      {"structure", "what it is mounted on: pole, mast arm, gantry"},
      {"mount-height", "height of the unit above ground, m"},
      {"latitude", "surveyed latitude, degrees WGS 84"},
      {"longitude", "surveyed longitude, degrees WGS 84"},
      {"elevation", "surveyed elevation, m"},
      {"survey-accuracy", "accuracy of the survey, m"},
      {"cable-length", "Ethernet cable from switch or injector to unit, m"},
      {"cable-category", "category of that cable"},
      {"cable-rating", "where it may lie: outdoor, direct burial or indoor"},
      {"cable-route", "where it lies: outdoor (as nothing recorded) or indoor"},
      {"surge-protector", "maker's designation, or none"},
      {"bond", "where unit, surge protector and cabinet are bonded, or none"},
      {"bond-resistance", "from the unit's earth stud to the cabinet's bar, ohm"},
      {"earth-resistance", "of the cabinet's earth, ohm"},
      {"injector", "power over Ethernet injector or switch port"},
      {"injector-voltage", "measured at the injector, V"},
      {"supply-voltage", "measured at the unit, V"},
      {"antennas", "KIND GAIN dBi, LOSS dB, BEARING deg; several are parted by +"},
      {"network", "subnet of the unit's address, as in 192.0.2.0/24"},
      {"gateway", "address of the subnet's router"},
      {"serial", "serial number"},
      {"mac", "hardware address"},
      {"installer", "who installed it"},
      {"installed", "date of installation"},
      {"surveyed", "date of the survey"},
      {"inspected", "date of the last inspection"},
      {"note", "anything else"},
  };
  return fields;
}

bool known_site_field(const std::string& field) {
  const auto& fields = site_fields();
  return std::any_of(fields.begin(), fields.end(), [&](const auto& known) { return known.first == field; });
}

std::vector<std::string> site_field_names() {
  std::vector<std::string> names;
  for (const auto& [name, meaning] : site_fields()) names.push_back(name);
  return names;
}

void add_site_field(Site& site, const Written& field, Faults& faults) {
  if (!known_site_field(field.name)) {
    faults.add(field.name_place,
               "a site record has no field " + field.name + smi::suggestion(field.name, site_field_names()));
    return;
  }
  if (const Measure* measure = measure_of(field.name)) check_measure(*measure, site, field, faults);
  if (is_date_field(field.name)) check_date(field, faults);
  if (field.name == "mac") check_mac(field, faults);
  if (field.name == "cable-rating") check_word(field, {"outdoor", "direct burial", "indoor"}, faults);
  if (field.name == "cable-route") check_word(field, {"outdoor", "indoor"}, faults);
  if (field.name == "network") check_with(field, parse_subnet(field.text), faults);
  if (field.name == "gateway") check_with(field, parse_host_address(field.text), faults);
  if (field.name == "antennas") check_with(field, parse_antennas(field.text), faults);
  site.fields.set(field.name, field.text);
}

std::string recorded(const Site& site, std::string_view field) {
  const auto found = site.fields.find(field);
  return found == site.fields.end() ? std::string() : std::string(smi::trimmed(found->second));
}

std::optional<double> site_number(const Site& site, const std::string& field) {
  const Measure* measure = measure_of(field);
  const auto found = site.fields.find(field);
  if (measure == nullptr || found == site.fields.end() || found->second.empty()) return std::nullopt;
  return measured(*measure, found->second);
}

std::optional<std::string> site_text(const Site& site, const std::string& field) {
  const auto found = site.fields.find(field);
  if (found == site.fields.end() || found->second.empty()) return std::nullopt;
  const std::string text(found->second);
  const Measure* measure = measure_of(field);
  if (measure == nullptr) return text;
  const auto quantity = smi::Quantity::parse(text);
  if (!quantity || !quantity->unit.empty()) return text;
  return text + " " + std::string(measure->unit);
}

}  // namespace vergeset::fleet
