#include "fleet/limits.h"

#include <fmt/format.h>

#include <algorithm>

#include "smi/quantity.h"
#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

/// "100 m", "4": with a unit wherever the limit has one.
std::string limit_example(const Limit& limit) {
  const double usual = Limits{}.*limit.number;
  const double number = std::isfinite(usual) ? usual : limit.high;
  return limit.unit.empty() ? fmt::format("{}", number) : fmt::format("{} {}", number, limit.unit);
}

void read_limit(const Limit& limit, const schema::Entry& value, Limits& limits) {
  const std::string example = limit_example(limit);
  const std::string text = value.text(example);
  if (!value.is_text()) return;
  const auto quantity = smi::Quantity::parse(text);
  if (!quantity || quantity->unit.empty() != limit.unit.empty()) {
    value.fault(fmt::format("{} needs a number{}, as in {}; found {}", limit.name,
                            limit.unit.empty() ? "" : " and a unit", example, text));
    return;
  }
  const auto number = smi::number_in_unit(*quantity, limit.unit);
  if (!number) {
    value.fault(fmt::format("{}: {}", limit.name, number.problem()));
    return;
  }
  if (*number < limit.low || *number > limit.high) {
    value.fault(fmt::format("expected {} to {}{}{} for {}, found {}", limit.low, limit.high,
                            limit.unit.empty() ? "" : " ", limit.unit, limit.name, text));
    return;
  }
  limits.*limit.number = *number;
}

}  // namespace

const std::vector<Limit>& limit_names() {
  static const std::vector<Limit> all{
      {"cable-run", "m", 1, 10000, &Limits::cable_run_m, "longest copper run"},
      {"supply-low", "V", 0, 1000, &Limits::supply_low_v, "lowest voltage at unit or injector"},
      {"supply-high", "V", 0, 1000, &Limits::supply_high_v, "highest voltage at unit or injector"},
      {"bond", "ohm", 0, 1000, &Limits::bond_ohm, "highest resistance of a bond"},
      {"earth", "ohm", 0, 10000, &Limits::earth_ohm, "highest resistance to earth"},
      {"apart", "m", 0, 10000, &Limits::apart_m, "units closer than this stand at one place"},
      {"transmit-power", "dBm", -50, 60, &Limits::transmit_power_dbm, "highest EIRP that the licence allows"},
      {"satellites", "", 0, 128, &Limits::satellites, "fewest satellites before a position counts"},
      {"temperature-low", "degree C", -100, 100, &Limits::temperature_low, "lowest temperature inside"},
      {"temperature-high", "degree C", -100, 100, &Limits::temperature_high, "highest temperature inside"},
      {"enrolment-left", "days", 0, 10000, &Limits::enrolment_left_days,
       "shortest time that an enrolment certificate has left"},
      {"certificate-left", "h", 0, 254, &Limits::certificate_left_h,
       "shortest time that an application certificate has left"},
      {"restarts", "", 1, 1000, &Limits::restarts, "so many restarts are too many"},
      {"restarts-within", "days", 1, 366, &Limits::restarts_within_days,
       "within this time, as audits saw it"},
      {"messages-sent", "%", 0, 100, &Limits::messages_sent_percent,
       "fewest of the messages due since the last audit that counters must have seen"},
      {"position-off", "m", 0, 100000, &Limits::position_off_m,
       "farthest from survey and reference, over ground"},
      {"reference-off", "m", 0, 100000, &Limits::reference_off_m, "farthest from reference to survey"},
      {"height-off", "m", 0, 10000, &Limits::height_off_m, "highest or lowest against survey and reference"},
      {"position-error", "m", 0, 20000, &Limits::position_error_m,
       "largest error, by the unit's own estimate, of a position that counts"},
      {"message-place", "m", 1, 100000, &Limits::message_place_m,
       "furthest that a MAP's reference point may be from the unit's site"},
      {"delivery-ends", "days", 0, 3660, &Limits::delivery_ends_days,
       "a message that is sent no longer than this is told"},
      {"channel-load", "%", 0, 100, &Limits::channel_load, "highest share of a channel's time"},
      {"forward-rate", "", 0, 1000, &Limits::forward_rate,
       "messages a second of each kind that is forwarded at once, as assumed"},
      {"forward-octets", "octets", 0, 2302, &Limits::forward_octets,
       "octets of a message that is forwarded at once, as assumed"},
  };
  return all;
}

Limits read_fleet_limits(const schema::Entry& entry) {
  Limits limits;
  for (const auto& [key, value] : entry.pairs("limits, such as {cable-run: 90 m}")) {
    const std::string name = key.text("the name of a limit");
    if (!key.is_text()) continue;
    const auto found =
        std::ranges::find_if(limit_names(), [&](const Limit& limit) { return limit.name == name; });
    if (found != limit_names().end()) {
      read_limit(*found, value, limits);
      continue;
    }
    std::vector<std::string> known;
    for (const Limit& limit : limit_names()) known.emplace_back(limit.name);
    key.fault("no limit is called " + name + smi::suggestion(name, known) +
              "; vergeset check --rules lists them");
  }
  return limits;
}

}  // namespace vergeset::fleet
