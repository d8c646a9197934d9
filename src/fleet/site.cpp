#include "fleet/site.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>

#include "smi/quantity.h"
#include "smi/suggest.h"
#include "smi/syntax.h"

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
    {"mount-height", "m", 0, 200},        {"latitude", "deg", -90, 90},      {"longitude", "deg", -180, 180},
    {"elevation", "m", -1000, 10000},     {"survey-accuracy", "m", 0, 1000}, {"cable-length", "m", 0, 10000},
    {"supply-voltage", "V", -1000, 1000},
};

const Measure* measure_of(std::string_view field) {
  const auto found = std::find_if(std::begin(measures), std::end(measures),
                                  [&](const Measure& m) { return m.field == field; });
  return found == std::end(measures) ? nullptr : found;
}

double as_double(const smi::Decimal& number) {
  return static_cast<double>(number.digits) / std::pow(10.0, number.places);
}

void check_measure(const Measure& measure, Site& site, const Written& field, Faults& faults) {
  const auto quantity = smi::Quantity::parse(field.text);
  const bool own_unit = quantity && (quantity->unit.empty() || quantity->unit == measure.unit);
  if (!quantity || (!own_unit && !smi::same_dimension(quantity->unit, measure.unit))) {
    faults.add(field.place, fmt::format("expected a number of {} for {}, found {}", measure.unit,
                                        measure.field, field.text));
    return;
  }
  if (!own_unit) return;
  const double number = as_double(quantity->number);
  if (number < measure.low || number > measure.high) {
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
             fmt::format("expected a date as in 2026-05-01 for installed, found {}", field.text));
}

void check_mac(const Written& field, Faults& faults) {
  smi::Syntax syntax;
  syntax.form = smi::Form::mac;
  const auto value = smi::encode(syntax, field.text);
  if (!value) faults.add(field.place, "expected a hardware address for mac: " + value.problem());
}

}  // namespace

const std::vector<std::pair<std::string, std::string>>& site_fields() {
  static const std::vector<std::pair<std::string, std::string>> fields = {
      {"place", "where it stands, in words"},
      {"pole", "number or name of the pole"},
      {"structure", "what it is mounted on"},
      {"mount-height", "height of the unit above ground, m"},
      {"latitude", "surveyed latitude, degrees WGS 84"},
      {"longitude", "surveyed longitude, degrees WGS 84"},
      {"elevation", "surveyed elevation, m"},
      {"survey-accuracy", "accuracy of the survey, m"},
      {"cable-length", "Ethernet cable from switch or injector to unit, m"},
      {"cable-category", "category of that cable"},
      {"surge-protector", "maker's designation, or none"},
      {"bond", "where unit, surge protector and cabinet are bonded"},
      {"injector", "power over Ethernet injector or switch port"},
      {"supply-voltage", "measured at the unit, V"},
      {"antennas", "which antennas, where"},
      {"serial", "serial number"},
      {"mac", "hardware address"},
      {"installer", "who installed it"},
      {"installed", "date of installation"},
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
  if (field.name == "installed") check_date(field, faults);
  if (field.name == "mac") check_mac(field, faults);
  site.fields.set(field.name, field.text);
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
