#include "checks/position.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "checks/gga.h"
#include "smi/quantity.h"

namespace vergeset::checks {

namespace {

// NTCIP 1218: the value of each object's range beyond what can be, for a position that is not known.
constexpr std::int64_t latitude_unknown = 900000001;
constexpr std::int64_t longitude_unknown = 1800000001;
constexpr std::int64_t height_unknown_cm = 1000001;
constexpr std::int64_t error_unknown_dm = 200001;

/// Of latitude and longitude in 1e-7 degree; nothing where one of them is unknown or beyond what can be.
std::optional<Point> point_of(std::optional<std::int64_t> latitude, std::optional<std::int64_t> longitude) {
  if (!latitude || std::abs(*latitude) >= latitude_unknown) return std::nullopt;
  if (!longitude || std::abs(*longitude) >= longitude_unknown) return std::nullopt;
  return Point{static_cast<double>(*latitude) / 1e7, static_cast<double>(*longitude) / 1e7};
}

std::optional<double> metres_of_cm(std::optional<std::int64_t> height) {
  if (!height || std::abs(*height) >= height_unknown_cm) return std::nullopt;
  return static_cast<double>(*height) / 100;
}

std::string not_enough(std::int64_t seen, std::int64_t wanted) {
  return fmt::format("{} satellites, and at least {} are wanted before a position counts", seen, wanted);
}

/// By single objects. True where these say all that there is to say: a position, or that it is unknown.
bool by_numbers(const AsRead& read, FoundPosition& out) {
  const auto latitude = read.number(read.model.identity.latitude);
  const auto longitude = read.number(read.model.identity.longitude);
  if (!latitude || !longitude) return false;
  out.from = read.model.identity.latitude->name + ", " + read.model.identity.longitude->name;
  out.at = point_of(latitude, longitude);
  if (!out.at) out.unknown = fmt::format("it says that it does not know it ({})", out.from);
  out.above_ellipsoid = metres_of_cm(read.number("rsuGnssElv"));
  return true;
}

void by_sentence(const AsRead& read, std::int64_t satellites, FoundPosition& out) {
  const schema::Object& object = *read.model.identity.sentence;
  const smi::Value* value = read.value(&object);
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

/// A field that counts metres, whatever length it was written in.
std::optional<double> metres_of(const fleet::Site& site, const std::string& field) {
  const auto found = site.fields.find(field);
  if (found == site.fields.end()) return std::nullopt;
  auto quantity = smi::Quantity::parse(found->second);
  if (!quantity) return std::nullopt;
  double factor = 1;
  if (!quantity->unit.empty() && quantity->unit != "m") {
    // Whole units of a tenth of a millimetre and more; what a survey has in other lengths is converted
    // exactly.
    const auto one = smi::in_unit({{1, 0}, quantity->unit}, "mm");
    if (!one) return std::nullopt;
    factor = static_cast<double>(*one) / 1000;
  }
  return static_cast<double>(quantity->number.digits) / std::pow(10.0, quantity->number.places) * factor;
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

}  // namespace

FoundPosition found_position(const AsRead& read, std::int64_t satellites) {
  FoundPosition out;
  const auto seen = read.number(either(read.model, "rsuGnssStatus", "rsuGpsStatus"));
  if (seen && *seen < satellites) {
    out.unknown = not_enough(*seen, satellites);
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
  out.height = metres_of(site, "elevation");
  return out;
}

Place3D reference_place(const AsRead& read) {
  const auto number = [&](const char* one, const char* other) {
    return read.number(either(read.model, one, other));
  };
  return {point_of(number("rsuLocationLat", "rsuGpsRefLat"), number("rsuLocationLon", "rsuGpsRefLon")),
          metres_of_cm(number("rsuLocationElv", "rsuGpsRefElv"))};
}

Position position_of(const AsRead& read, const fleet::Site& site, std::int64_t satellites) {
  Position out;
  out.found = found_position(read, satellites);
  out.accuracy_m = metres_of(site, "survey-accuracy").value_or(0);
  const Place3D survey = surveyed_place(site);
  const Place3D reference = reference_place(read);
  out.from_survey = off(out.found, survey);
  out.from_reference = off(out.found, reference);
  if (reference.at && survey.at) out.reference_from_survey = way_between(*survey.at, *reference.at);
  return out;
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
