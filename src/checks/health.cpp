#include "checks/health.h"

#include <fmt/format.h>

#include <algorithm>

#include "checks/certificates.h"
#include "checks/counted.h"
#include "checks/firmware.h"
#include "checks/position.h"
#include "smi/quantity.h"
#include "smi/syntax.h"

namespace vergeset::checks {

namespace {

// rsuStatus and rsuServiceStatus of NTCIP 1218.
constexpr std::int64_t okay = 2;
// NTCIP 1218, rsuClockSource and rsuClockSourceStatus.
constexpr std::int64_t by_gnss = 3;
constexpr std::int64_t by_ntp = 4;
constexpr std::int64_t clock_active = 2;
// NTCIP 1218, rsuServiceTable: these have fixed names, 11 to 16 are reserved.
constexpr std::uint32_t fixed_services = 10;
// NTCIP 1218: its temperatures are unknown at this value.
constexpr std::int64_t temperature_unknown = -101;

std::string of_model(const AsRead& read, const std::string& object) {
  return read.model.title + " " + object;
}

void judge_mode(const AsRead& read, Findings& findings) {
  if (!read.model.mode) return;
  const schema::ModeRule& mode = *read.model.mode;
  const auto reached = read.number(mode.status);
  if (read.number(mode.asked) != mode.operate || !reached || *reached == mode.status_operate) return;
  findings.add("off-air",
               fmt::format("asked to operate, is in {}: not on air", read.words(mode.status->name)), {},
               of_model(read, mode.status->name));
}

void judge_status(const AsRead& read, Findings& findings) {
  const auto status = read.number("rsuStatus");
  if (!status || *status == okay) return;
  findings.add("unit-status", fmt::format("the unit calls its status {}", read.words("rsuStatus")), {},
               of_model(read, "rsuStatus"));
}

/// The fixed names of NTCIP 1218, where a unit gives none.
std::string service_name(const AsRead& read, std::uint32_t row) {
  const std::string own = read.words("rsuServiceName", row);
  return own.empty() ? fmt::format("service {}", row) : own;
}

void judge_service(const AsRead& read, std::uint32_t row, Findings& findings) {
  const auto status = read.number("rsuServiceStatus", row);
  if (!status || *status == okay) return;
  std::string text =
      fmt::format("{} calls its status {}", service_name(read, row), read.words("rsuServiceStatus", row));
  const std::string says = read.words("rsuServiceStatusDesc", row);
  if (!says.empty()) text += ": " + says;
  const smi::Value* since = read.value("rsuServiceStatusTime", row);
  if (since != nullptr && smi::instant_of(since->octets))
    text += ", since " + read.words("rsuServiceStatusTime", row);
  findings.add("service-status", std::move(text), {},
               of_model(read, fmt::format("rsuServiceStatus.{}", row)));
}

const schema::Table* services(const schema::Model& model) {
  const schema::Object* status = model.object("rsuServiceStatus");
  return status == nullptr ? nullptr : status->table;
}

void judge_services(const AsRead& read, Findings& findings) {
  const schema::Table* table = services(read.model);
  if (table == nullptr) return;
  for (const std::uint32_t row : read.rows(*table)) judge_service(read, row, findings);
}

void judge_satellites(const AsRead& read, const fleet::Limits& limits, Findings& findings) {
  const auto seen = read.number(either(read.model, "rsuGnssStatus", "rsuGpsStatus"));
  if (!seen || static_cast<double>(*seen) >= limits.satellites) return;
  findings.add("satellites", fmt::format("{} satellites; at least {:g} are wanted before a position counts",
                                         *seen, limits.satellites));
}

void judge_clock(const AsRead& read, Findings& findings) {
  const auto source = read.number("rsuClockSource");
  if (source && *source != by_gnss && *source != by_ntp) {
    findings.add("clock-source",
                 fmt::format("its clock goes by {}; gnss or ntp is wanted", read.words("rsuClockSource")), {},
                 of_model(read, "rsuClockSource"));
  }
  const auto status = read.number("rsuClockSourceStatus");
  if (status && *status != clock_active) {
    findings.add("clock-source", fmt::format("its clock source is {}", read.words("rsuClockSourceStatus")),
                 {}, of_model(read, "rsuClockSourceStatus"));
  }
}

void judge_temperature(const AsRead& read, const fleet::Limits& limits, Findings& findings) {
  const auto degrees = read.number("rsuIntTemp");
  if (!degrees || *degrees == temperature_unknown) return;
  const auto beyond = [&](const char* side, double bound, const char* whose) {
    findings.add("temperature",
                 fmt::format("{} degree C inside, {} the {:g} of {}", *degrees, side, bound, whose));
  };
  const auto temperature = static_cast<double>(*degrees);
  if (temperature > limits.temperature_high) return beyond("above", limits.temperature_high, "the fleet");
  if (temperature < limits.temperature_low) return beyond("below", limits.temperature_low, "the fleet");
  const auto low = read.number("rsuIntTempLowThreshold");
  const auto high = read.number("rsuIntTempHighThreshold");
  // A unit that was never given thresholds has them where nothing is between (common practice, no source).
  if (!low || !high || *low >= *high) return;
  if (*degrees > *high) return beyond("above", static_cast<double>(*high), "the unit's own threshold");
  if (*low != temperature_unknown && *degrees < *low)
    beyond("below", static_cast<double>(*low), "the unit's own threshold");
}

}  // namespace

std::vector<Finding> health(const fleet::Fleet& fleet, const fleet::Unit& unit, const AsRead& read,
                            const records::Counted* before, const records::Counted* now) {
  Findings findings(fleet.severities);
  judge_mode(read, findings);
  judge_status(read, findings);
  judge_services(read, findings);
  judge_satellites(read, fleet.limits, findings);
  judge_clock(read, findings);
  judge_temperature(read, fleet.limits, findings);
  judge_certificates(read, fleet.limits, findings);
  judge_position(position_of(read, unit.site, fleet.limits), fleet.limits, findings);
  // Where it was read: of a unit that is put back only what was touched is.
  if (const smi::Value* version = read.value(firmware_object(read.model))) {
    judge_firmware(fleet, read.model, smi::to_text(firmware_object(read.model)->syntax, *version), findings);
  }
  if (before != nullptr && now != nullptr) judge_counted(fleet, unit, *before, *now, findings, read);
  return findings.take();
}

std::vector<const schema::Object*> health_objects(const fleet::Unit& unit) {
  const schema::Model& model = *unit.model;
  std::vector<const schema::Object*> objects = position_objects(model);
  const auto add = [&](const schema::Object* object) {
    if (object != nullptr && object->table == nullptr) objects.push_back(object);
  };
  if (model.mode) {
    add(model.mode->asked);
    add(model.mode->status);
  }
  for (const char* name : {"rsuStatus", "rsuClockSource", "rsuClockSourceStatus", "rsuIntTemp",
                           "rsuIntTempLowThreshold", "rsuIntTempHighThreshold", "rsuSecEnrollCertStatus",
                           "rsuSecEnrollCertExpiration", "rsuTimeSincePowerOn"}) {
    add(model.object(name));
  }
  if (const schema::Table* table = services(model)) add(table->most);
  for (const schema::Object* object : counting_scalars(unit)) add(object);
  add(firmware_object(model));
  return objects;
}

std::optional<HealthRows> health_rows(const fleet::Unit& unit) {
  const schema::Object* status = unit.model->object("rsuServiceStatus");
  if (status == nullptr || status->table == nullptr) return std::nullopt;
  return HealthRows{status, fixed_services};
}

std::vector<HealthTable> health_tables(const fleet::Unit& unit) {
  const schema::Model& model = *unit.model;
  std::vector<HealthTable> tables;
  const auto add = [&](const schema::Table* table, std::vector<const schema::Object*> columns) {
    std::erase(columns, nullptr);
    if (table != nullptr && !columns.empty()) tables.push_back({table, std::move(columns)});
  };
  add(model.table("rsuSecAppCertTable"),
      {model.object("rsuSecAppCertPsid"), model.object("rsuSecAppCertState"),
       model.object("rsuSecAppCertExpiration")});
  const std::vector<const schema::Object*> counting = counting_columns(unit);
  if (!counting.empty()) add(counting.front()->table, counting);
  return tables;
}

std::vector<smi::Oid> health_details(const AsRead& read) {
  std::vector<smi::Oid> instances;
  const schema::Table* table = services(read.model);
  if (table == nullptr) return instances;
  const std::int64_t last = std::min(read.number(table->most).value_or(0), table->index_range.high);
  for (std::uint32_t row = fixed_services + 1; row <= last; ++row)
    instances.push_back(read.model.object("rsuServiceStatus")->oid.child(row));
  for (const std::uint32_t row : read.rows(*table)) {
    const auto status = read.number("rsuServiceStatus", row);
    if (!status || *status == okay) continue;
    for (const char* name : {"rsuServiceName", "rsuServiceStatusDesc", "rsuServiceStatusTime"}) {
      const schema::Object* column = read.model.object(name);
      if (column != nullptr) instances.push_back(column->oid.child(row));
    }
  }
  return instances;
}

}  // namespace vergeset::checks
