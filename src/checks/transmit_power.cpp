#include "checks/transmit_power.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fleet/antennas.h"

namespace vergeset::checks {

namespace {

/// "-128 is the default" of both standards' objects of dBm: the unit's own choice, not a power.
constexpr std::int64_t own_choice = -128;

bool is_transmit_power(const schema::Object& object) {
  const bool measured = object.unit == "dBm" || object.unit == "% of full strength";
  return measured && object.name.find("Power") != std::string::npos;
}

struct Power {
  const fleet::DesiredValue* asked = nullptr;
  std::string name;  ///< "transmit-power-share", "radio cv2x power"
};

std::vector<Power> powers_of(const fleet::Unit& unit) {
  std::vector<Power> powers;
  const auto add = [&](const fleet::DesiredValue& value, const std::string& within) {
    if (value.object == nullptr || !is_transmit_power(*value.object)) return;
    if (value.object->unit == "dBm" && value.value.number == own_choice) return;
    powers.push_back({&value, within + value.name.str()});
  };
  for (const fleet::DesiredValue& value : unit.desired.values) add(value, "");
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    for (const fleet::DesiredRow& row : table.rows) {
      if (!row.present) continue;
      for (const fleet::DesiredValue& value : row.columns) add(value, table.name + " " + row.label + " ");
    }
  }
  return powers;
}

std::vector<fleet::Antenna> radio_antennas(const fleet::Site& site) {
  const auto found = site.fields.find("antennas");
  if (found == site.fields.end()) return {};
  auto parsed = fleet::parse_antennas(found->second);
  if (!parsed) return {};
  std::vector<fleet::Antenna> antennas = *std::move(parsed);
  std::erase_if(antennas, [](const fleet::Antenna& antenna) { return antenna.of_satellites(); });
  return antennas;
}

double net_gain(const fleet::Antenna& antenna) {
  return antenna.gain_dbi.value_or(0) - antenna.loss_db.value_or(0);
}

void judge_eirp(const Power& power, const fleet::Antenna& antenna, const fleet::Limits& limits,
                Findings& findings) {
  const auto sent = static_cast<double>(power.asked->value.number);
  const double eirp = sent + net_gain(antenna);
  if (eirp <= limits.transmit_power_dbm) return;
  const std::string loss = antenna.loss_db ? fmt::format(" - {:.4g} dB", *antenna.loss_db) : "";
  findings.add(
      "transmit-power",
      fmt::format("{}: {:.4g} dBm + {:.4g} dBi{} are {:.4g} dBm EIRP; the licence allows {:.4g} dBm",
                  power.name, sent, antenna.gain_dbi.value_or(0), loss, eirp, limits.transmit_power_dbm),
      power.asked->asked.place);
}

}  // namespace

void judge_transmit_power(const fleet::Unit& unit, const fleet::Limits& limits, Findings& findings) {
  const std::vector<Power> powers = powers_of(unit);
  if (powers.empty()) return;
  const std::vector<fleet::Antenna> antennas = radio_antennas(unit.site);
  const bool gains_known = !antennas.empty() && std::ranges::all_of(antennas, [](const fleet::Antenna& one) {
    return one.gain_dbi.has_value();
  });
  if (!gains_known) {
    findings.add(
        "antenna-gain",
        fmt::format("{} is set, and {}", powers.front().name,
                    antennas.empty() ? "no antenna is recorded" : "an antenna's gain is not recorded"),
        powers.front().asked->asked.place);
  }
  if (std::isinf(limits.transmit_power_dbm)) return;
  const fleet::Antenna strongest =
      antennas.empty() ? fleet::Antenna{} : *std::ranges::max_element(antennas, {}, net_gain);
  for (const Power& power : powers) {
    if (power.asked->object->unit == "dBm") {
      judge_eirp(power, strongest, limits, findings);
    } else {
      findings.add("transmit-power-unknown",
                   fmt::format("{} is a share of the unit's full strength, which nothing here tells in dBm",
                               power.name),
                   power.asked->asked.place);
    }
  }
}

}  // namespace vergeset::checks
