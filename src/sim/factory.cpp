#include "sim/factory.h"

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace vergeset::sim {

namespace {

using smi::Form;
using smi::Type;
using smi::Value;

bool allows(const smi::Syntax& syntax, std::int64_t number) {
  return syntax.ranges.empty() || std::any_of(syntax.ranges.begin(), syntax.ranges.end(), [&](const auto& r) {
           return number >= r.low && number <= r.high;
         });
}

/// Texts that both standards want filled, in the words of an invented maker.
std::optional<std::string> known_text(const schema::Object& object, const schema::Model& model,
                                      std::uint32_t index) {
  static const std::map<std::string, std::string, std::less<>> known{
      {"rsuID", "RSU"},
      {"rsuManufacturer", "Larkmoor Works"},
      {"rsuFirmwareVersion", "2.4.1"},
      {"sysDescr", "roadside unit LW-4, Larkmoor Works, firmware 2.4.1"},
      {"sysName", "rsu"},
      {"rsuDCMRadio", "radio"},
      {"rsuRadioDesc", "radio"},
      {"rsuSysLogName", "/var/log/syslog"},
      {"rsuSysDir", "/var/log"},
      {"rsuIfaceStoragePath", "/var/log/iface"},
      {"rsuInstallPath", "/var/install"},
      {"rsuAppConfigName", "application"},
  };
  static constexpr std::array<std::string_view, 10> services{
      "system",           "GNSS",       "time source", "storage", "firewall", "network",
      "radio layers 1-2", "layers 3-4", "security",    "SCMS"};
  if (object.name == "rsuMibVersion") return model.title;
  if (object.name == "rsuServiceName" && index >= 1 && index <= services.size())
    return std::string(services[index - 1]);
  const auto found = known.find(object.name);
  if (found == known.end()) return std::nullopt;
  return object.table != nullptr ? found->second + " " + std::to_string(index) : found->second;
}

/// Numbers whose lowest value would be a strange thing for a unit to hold.
std::optional<std::int64_t> known_number(const std::string& name) {
  static const std::map<std::string, std::int64_t, std::less<>> known{
      {"rsuLocationLat", 900000001},
      {"rsuLocationLon", 1800000001},
      {"rsuLocationElv", 1000001},
      {"rsuAntLat", 900000001},
      {"rsuAntLong", 1800000001},
      {"rsuAntElv", 1000001},
      {"rsuElevationOffset", 2001},
      {"rsuGnssAugmentation", 2},
      {"rsuModeStatus", 2},
      {"rsuClockSource", 3},
      {"rsuClockSourceStatus", 2},
      {"rsuStatus", 2},
      {"rsuServiceStatus", 2},
      {"rsuRadioType", 3},
      {"rsuRadioChanMode", 3},
      {"rsuRadioCh1", 183},
      {"rsuWsaVersion", 3},
      {"rsuSecEnrollCertStatus", 3},
      {"rsuSysLogSeverity", 4},
      {"rsuNotifyPort", 162},
      {"rsuTxPower", 100},
      {"sysServices", 72},
      {"rsuIntTempLowThreshold", -34},
      {"rsuIntTempHighThreshold", 74},
      {"rsuSecAppCertExpiration", 160},
      {"rsuInstallStatus", 2},
      {"rsuSysLogQueryStatus", 2},
  };
  const auto found = known.find(name);
  return found == known.end() ? std::nullopt : std::optional(found->second);
}

/// How many rows a unit takes, of an object that says so: those that it was built with, or most_rows.
std::optional<std::int64_t> rows_taken(const schema::Object& object, const schema::Model& model) {
  for (const auto& [name, table] : model.tables)
    if (table.most == &object) return table.rows_are_made() ? most_rows : own_rows(table);
  return std::nullopt;
}

std::int64_t number_of(const schema::Object& object, const schema::Model& model) {
  const auto& syntax = object.syntax;
  auto known = rows_taken(object, model);
  if (!known) known = known_number(object.name);
  if (known) {
    const bool labelled =
        syntax.labels.empty() || std::any_of(syntax.labels.begin(), syntax.labels.end(),
                                             [&](const auto& label) { return label.number == *known; });
    if (labelled && allows(syntax, *known)) return *known;
  }
  for (const auto& label : syntax.labels)
    if (label.name != "other" && label.name != "unknown") return label.number;
  if (!syntax.labels.empty()) return syntax.labels.front().number;
  if (allows(syntax, 0)) return 0;
  std::int64_t low = syntax.ranges.front().low;
  for (const auto& range : syntax.ranges) low = std::min(low, range.low);
  return low;
}

std::string text_of(const schema::Object& object, const schema::Model& model, std::uint32_t index) {
  if (const auto known = known_text(object, model, index);
      known && allows(object.syntax, static_cast<std::int64_t>(known->size())))
    return *known;
  if (allows(object.syntax, 0)) return {};
  if (object.syntax.form == Form::octets)
    return std::string(static_cast<std::size_t>(object.syntax.ranges.front().low), '\0');
  const auto least = static_cast<std::size_t>(object.syntax.ranges.front().low);
  std::string text = "none";
  text.resize(std::max(text.size(), least), '-');
  if (!allows(object.syntax, static_cast<std::int64_t>(text.size()))) text.resize(least);
  return text;
}

/// A locally administered address (IEEE 802) of the unit's own for what it only shows.
std::string mac_of(const schema::Object& object, std::uint64_t seed, std::uint32_t index) {
  if (object.settable()) return std::string(6, '\0');
  std::string mac(6, '\x02');
  for (std::size_t i = 1; i < 4; ++i)
    mac[i] = static_cast<char>(static_cast<unsigned char>(seed >> (8U * i)));
  mac[4] = static_cast<char>(object.oid.back() % 256);
  mac[5] = static_cast<char>(index % 256);
  return mac;
}

std::string time_of(const schema::Object& object) {
  const bool end = object.name.ends_with("Stop") || object.name.ends_with("Expiration");
  return end ? std::string("\x08\x33\x0c\x1f\x17\x3b\x3b\x00", 8)   // 2099-12-31 23:59:59
             : std::string("\x07\xd0\x01\x01\x00\x00\x00\x00", 8);  // 2000-01-01 00:00:00
}

std::string octets_of(const schema::Object& object, const schema::Model& model, std::uint64_t seed,
                      std::uint32_t index) {
  const auto& syntax = object.syntax;
  // Of MAP and of traveller information, P-encoded (IEEE 1609.12; from memory, as the fleets here use them).
  if (object.name == "rsuSecAppCertPsid") return index % 2 == 1 ? "\x80\x02" : "\x80\x03";
  switch (syntax.form) {
    case Form::mac:
      return mac_of(object, seed, index);
    case Form::date_time:
      return time_of(object);
    case Form::minute_stamp:
      return {};
    case Form::time_of_day:
      return std::string("\x17\x3b\x00", 3);
    case Form::ip_address:
      return std::string(4, '\0');
    case Form::address_octets:
      return std::string(16, '\0');
    case Form::octet_number:
      return std::string(1, static_cast<char>(syntax.ranges.empty() ? 0 : syntax.ranges.front().low));
    case Form::address_text:
      return allows(syntax, 7) ? "0.0.0.0" : std::string();
    case Form::bits:
      return std::string(1, '\0');
    case Form::psid:
      return allows(syntax, 0) && !syntax.ranges.empty() ? std::string() : std::string(1, '\x20');
    default:
      return text_of(object, model, index);
  }
}

}  // namespace

Value factory_value(const schema::Object& object, const schema::Model& model, std::uint64_t seed,
                    std::uint32_t index) {
  if (model.identity.present == &object && model.identity.equals) return *model.identity.equals;
  if (object.initial) return *object.initial;
  const Type wire = object.syntax.wire();
  if (wire == Type::object_id) return Value::of_oid({0, 0});  // zeroDotZero (RFC 2578 2)
  if (wire == Type::octet_string || wire == Type::ip_address || wire == Type::opaque) {
    Value value = Value::of_octets(octets_of(object, model, seed, index));
    value.type = wire;
    return value;
  }
  return Value::of_number(wire, number_of(object, model));
}

bool required(const schema::Object& column) {
  if (!column.settable() || column.initial || column.traits.running) return false;
  const auto& syntax = column.syntax;
  if (syntax.form == Form::psid) return syntax.ranges.empty() || !allows(syntax, 0);
  const std::string_view name = column.name;
  return name.ends_with("Payload") || name.ends_with("DestIpAddr") || name.ends_with("DestPort");
}

std::uint32_t own_rows(const schema::Table& table) {
  if (table.rows_are_made()) return 0;
  const std::int64_t built = table.name == "rsuServiceTable" ? 10 : 2;
  return static_cast<std::uint32_t>(std::min(built, table.index_range.high));
}

}  // namespace vergeset::sim
