#include "checks/position.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "checks/gga.h"
#include "fleet/site.h"

namespace vergeset::checks {

namespace {

// NTCIP 1218: the value of each object's range beyond what can be, for a position that is not known.
constexpr std::int64_t latitude_unknown = 900000001;
constexpr std::int64_t longitude_unknown = 1800000001;
constexpr std::int64_t height_unknown_cm = 1000001;
constexpr std::int64_t error_unknown_dm = 200001;

/// The number, where a unit answered one that is no further from 0.
std::optional<double> within(std::optional<std::int64_t> number, std::int64_t most) {
  if (!number || *number < -most || *number > most) return std::nullopt;
  return static_cast<double>(*number);
}

/// Of latitude and longitude in 1e-7 degree; nothing where one of them is unknown or beyond what can be.
std::optional<Point> point_of(std::optional<std::int64_t> latitude, std::optional<std::int64_t> longitude) {
  const auto north = within(latitude, latitude_unknown - 1);
  const auto east = within(longitude, longitude_unknown - 1);
  if (!north || !east) return std::nullopt;
  return Point{*north / 1e7, *east / 1e7};
}

std::optional<double> metres_of_cm(std::optional<std::int64_t> height) {
  const auto number = within(height, height_unknown_cm - 1);
  return number ? std::optional(*number / 100) : std::nullopt;
}

std::string not_enough(std::int64_t seen, double wanted) {
  return fmt::format("{} satellites, and at least {:g} are wanted before a position counts", seen, wanted);
}

/// By single objects. True where these say all that there is to say: a position, or that it is unknown.
bool by_numbers(const AsRead& read, FoundPosition& out) {
  const auto latitude = read.number(read.model.identity.latitude);
  const auto longitude = read.number(read.model.identity.longitude);
  if (!latitude || !longitude) return false;
  out.told = true;
  out.from = read.model.identity.latitude->name + ", " + read.model.identity.longitude->name;
  out.at = point_of(latitude, longitude);
  if (!out.at) out.unknown = fmt::format("it says that it does not know it ({})", out.from);
  out.above_ellipsoid = metres_of_cm(read.number("rsuGnssElv"));
  return true;
}

void by_sentence(const AsRead& read, double satellites, FoundPosition& out) {
  const schema::Object& object = *read.model.identity.sentence;
  const smi::Value* value = read.value(&object);
  out.told = out.told || value != nullptr;
  if (value == nullptr || value->octets.empty()) {
    out.unknown = fmt::format("{} is {}", object.name, value == nullptr ? "not there" : "empty");
    return;
  }
  const auto gga = parse_gga(value->octets);
  if (!gga) {
    out.unknown = object.name + " holds no whole GGA sentence with a right checksum";
  } else if (!gga->at) {
    out.unknown = object.name + " says that there is no fix (GGA quality 0)";
  } else if (gga->satellites && *gga->satellites < satellites) {
    out.unknown = not_enough(*gga->satellites, satellites);
  } else {
    out.unknown.clear();
    out.from = object.name;
    out.at = gga->at;
    out.above_sea = gga->altitude;
    if (gga->altitude && gga->separation) out.above_ellipsoid = *gga->altitude + *gga->separation;
  }
}

Off off(const FoundPosition& found, const Place3D& from) {
  Off out;
  if (found.at && from.at) out.way = way_between(*from.at, *found.at);
  if (!from.height) return out;
  if (found.above_ellipsoid) out.up = *found.above_ellipsoid - *from.height;
  if (!found.above_sea) return out;
  // Which of the two the other height counts from is not on record: the one that fits better.
  const double above_sea = *found.above_sea - *from.height;
  if (!out.up || std::abs(above_sea) < std::abs(*out.up)) {
    out.up = above_sea;
    out.up_from_sea = true;
  }
  return out;
}

std::string up_text(const Off& off, const std::string& than, double limit) {
  return fmt::format(
      "it finds itself {:.0f} m {} {}, counted {}; at most {:g} m are allowed, and the geoid may "
      "be the reason",
      std::abs(*off.up), *off.up > 0 ? "above" : "below", than,
      off.up_from_sea ? "from mean sea level" : "from the WGS 84 ellipsoid", limit);
}

/// One line where survey and reference are the same place.
void judge_off(const Position& position, const fleet::Limits& limits, Findings& findings) {
  const Off& survey = position.from_survey;
  const Off& reference = position.from_reference;
  const double allowed = limits.position_off_m + position.accuracy_m;
  const std::string at_most = position.accuracy_m > 0
                                  ? fmt::format("{:g} m are allowed, and {:g} m for the survey",
                                                limits.position_off_m, position.accuracy_m)
                                  : fmt::format("{:g} m are allowed", limits.position_off_m);
  const bool off_survey = survey.way && survey.way->metres > allowed;
  if (off_survey) {
    findings.add("position-off", fmt::format("it finds itself {} of its surveyed position; at most {}",
                                             way_text(*survey.way), at_most));
  }
  const bool same = position.reference_from_survey && position.reference_from_survey->metres <= allowed;
  if (reference.way && reference.way->metres > allowed && !(off_survey && same)) {
    findings.add("position-off", fmt::format("it finds itself {} of its own reference position; at most {}",
                                             way_text(*reference.way), at_most));
  }
  if (survey.up && std::abs(*survey.up) > limits.height_off_m) {
    findings.add("height-off", up_text(survey, "its surveyed elevation", limits.height_off_m));
  } else if (reference.up && std::abs(*reference.up) > limits.height_off_m) {
    findings.add("height-off", up_text(reference, "its own reference", limits.height_off_m));
  }
}

}  // namespace

FoundPosition found_position(const AsRead& read, double satellites) {
  FoundPosition out;
  const auto seen = read.number(either(read.model, "rsuGnssStatus", "rsuGpsStatus"));
  if (seen && static_cast<double>(*seen) < satellites) {
    out.unknown = not_enough(*seen, satellites);
    out.few_satellites = true;
    return out;
  }
  const schema::IdentityRule& rule = read.model.identity;
  out.unknown = "it gives none";
  const bool numbers = by_numbers(read, out);
  if (!numbers || !out.at) {
    if (rule.sentence != nullptr) by_sentence(read, satellites, out);
  }
  if (out.at) out.unknown.clear();
  if (const auto error = read.number("rsuGnssPositionError");
      error && *error >= 0 && *error < error_unknown_dm)
    out.error_m = static_cast<double>(*error) / 10;
  return out;
}

std::vector<const schema::Object*> position_objects(const schema::Model& model) {
  const schema::IdentityRule& rule = model.identity;
  std::vector<const schema::Object*> objects;
  for (const schema::Object* object :
       {rule.latitude, rule.longitude, rule.sentence, model.object("rsuGnssElv"),
        model.object("rsuGnssPositionError"), either(model, "rsuGnssStatus", "rsuGpsStatus"),
        either(model, "rsuLocationLat", "rsuGpsRefLat"), either(model, "rsuLocationLon", "rsuGpsRefLon"),
        either(model, "rsuLocationElv", "rsuGpsRefElv")}) {
    if (object != nullptr) objects.push_back(object);
  }
  return objects;
}

Place3D surveyed_place(const fleet::Site& site) {
  Place3D out;
  if (site.latitude && site.longitude) out.at = Point{*site.latitude, *site.longitude};
  out.height = fleet::site_number(site, "elevation");
  return out;
}

Place3D reference_place(const AsRead& read) {
  const auto number = [&](const char* one, const char* other) {
    return read.number(either(read.model, one, other));
  };
  Place3D out;
  out.at = point_of(number("rsuLocationLat", "rsuGpsRefLat"), number("rsuLocationLon", "rsuGpsRefLon"));
  // RSU 4.1 has no value for a reference that was never set (common practice, no source).
  if (out.at == Point{0, 0}) return {};
  out.height = metres_of_cm(number("rsuLocationElv", "rsuGpsRefElv"));
  return out;
}

Position position_of(const AsRead& read, const fleet::Site& site, const fleet::Limits& limits) {
  Position out;
  out.found = found_position(read, limits.satellites);
  out.accuracy_m = fleet::site_number(site, "survey-accuracy").value_or(0);
  const Place3D survey = surveyed_place(site);
  const Place3D reference = reference_place(read);
  out.from_survey = off(out.found, survey);
  out.from_reference = off(out.found, reference);
  if (reference.at && survey.at) out.reference_from_survey = way_between(*survey.at, *reference.at);
  return out;
}

void judge_position(const Position& position, const fleet::Limits& limits, Findings& findings) {
  const FoundPosition& found = position.found;
  if (position.reference_from_survey) {
    const Way& way = *position.reference_from_survey;
    if (way.metres > limits.reference_off_m + position.accuracy_m)
      findings.add("reference-off", fmt::format("its reference position is {} of the surveyed one; at most "
                                                "{:g} m are allowed",
                                                way_text(way), limits.reference_off_m));
  }
  if (!found.at) {
    if (found.told && !found.few_satellites)
      findings.add("position-unknown", "its position is unknown: " + found.unknown);
    return;
  }
  if (found.error_m && *found.error_m > limits.position_error_m) {
    findings.add(
        "position-unknown",
        fmt::format("its position is not judged: by its own account it may be {:.0f} m off (at most {:g} "
                    "m are allowed)",
                    *found.error_m, limits.position_error_m));
    return;
  }
  judge_off(position, limits, findings);
}

std::string way_text(const Way& way) {
  static constexpr std::array<const char*, 8> names{"north", "north-east", "east", "south-east",
                                                    "south", "south-west", "west", "north-west"};
  const auto eighth = static_cast<std::size_t>(std::lround(way.bearing / 45)) % names.size();
  const auto degrees = std::lround(way.bearing) % 360;
  const std::string far = way.metres < 10      ? fmt::format("{:.1f} m", way.metres)
                          : way.metres < 10000 ? fmt::format("{:.0f} m", way.metres)
                                               : fmt::format("{:.0f} km", way.metres / 1000);
  return fmt::format("{} {} ({} deg)", far, names.at(eighth), degrees);
}

}  // namespace vergeset::checks
