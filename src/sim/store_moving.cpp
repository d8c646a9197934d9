#include <algorithm>
#include <cmath>

#include "sim/store.h"

namespace vergeset::sim {

using smi::Value;

namespace {

std::int64_t tenth_microdegrees(double degrees) {
  return std::llround(degrees * 1e7);
}

/// A message that an application sends ten times a second, as signal phase messages are.
constexpr double application_rate = 1.0 / 100;

/// A SPAT (SAE J2735 message 19), from the sample messages of a connected-vehicle certification
/// body, 2017. Its revision, the low seven bits of the eighth octet, moves.
std::string application_payload(std::int64_t now) {
  std::string payload = *smi::from_hex(
      "0013340000003d8000000143ebe5e7d29e9c996665cdd2a75e5b80411a0008200828745c3cfa53d3932d0cb92be1d7b00811a0"
      "008200aa");
  payload[7] = static_cast<char>(0x80 + now / 100 % 128);
  return payload;
}

std::int64_t unknown_of(const schema::Object& object) {
  std::int64_t high = 0;
  for (const smi::Range& range : object.syntax.ranges) high = std::max(high, range.high);
  return high;
}

}  // namespace

std::optional<Value> Store::moved(const Slot& slot, std::uint32_t index, std::int64_t now) const {
  const auto& object = *slot.object;
  const auto of_number = [&](std::int64_t number) { return Value::of_number(object.syntax.wire(), number); };
  const auto counted = [&](double number) {
    return of_number(
        static_cast<std::int64_t>(std::fmod(number, 4294967296.0)));  // Counter32 (RFC 2578 7.1.6)
  };
  const std::int64_t up = std::max<std::int64_t>(0, now - started_);
  const auto spot = nature_.site ? std::optional(wander(*nature_.site, seed_, now)) : std::nullopt;
  switch (slot.moving) {
    case Moving::mode:
      return of_number(mode(now));
    case Moving::channels:
      return of_number(operating(now) ? 2 : 3);  // contOp, noneOp
    case Moving::satellites:
      return of_number(nature_.site ? satellites(seed_, now) : 0);
    case Moving::latitude:
      return of_number(spot ? tenth_microdegrees(spot->latitude) : unknown_of(object));
    case Moving::longitude:
      return of_number(spot ? tenth_microdegrees(spot->longitude) : unknown_of(object));
    case Moving::elevation:
      return of_number(spot ? std::llround(spot->elevation * 100) : unknown_of(object));
    case Moving::sentence:
      return Value::of_octets(gga_sentence(spot, spot ? satellites(seed_, now) : 0, now));
    case Moving::deviation:
      return of_number(deviation(spot).value_or(unknown_of(object)));
    case Moving::position_error:
      return of_number(spot ? position_error_dm(seed_, now) : unknown_of(object));
    case Moving::temperature:
      return of_number(temperature(seed_, now));
    case Moving::seconds_up:
      return counted(std::floor(static_cast<double>(up) / 1000));
    case Moving::seconds_run:
      return counted(std::floor(static_cast<double>(up) / 1000) + static_cast<double>(seed_ % 40000000));
    case Moving::ticks_up:
      return of_number(up / 10 % 4294967296);
    case Moving::restart_time:
      return Value::of_octets(date_and_time(started_));
    case Moving::sent: {
      double all = 0;
      for (const auto& [psid, sent] : air_at(now).sent) all += sent;
      return counted(std::floor(all));
    }
    case Moving::received:
      return counted(std::floor(static_cast<double>(up) * 0.003));
    default:
      return moved_row(slot, index, now);
  }
}

std::optional<Value> Store::moved_row(const Slot& slot, std::uint32_t index, std::int64_t now) const {
  const schema::Object& object = *slot.object;
  switch (slot.moving) {
    case Moving::row_sent: {
      const auto psid = slot_of(model().object("rsuMessageCountsByPsidId"));
      const Value* counted = psid ? cell(*psid, index) : nullptr;
      double sum = 0;
      for (const auto& [sender, sent] : air_at(now).sent)
        if (counted == nullptr || counted->octets.empty() || counted->octets == sender) sum += sent;
      return Value::of_number(object.syntax.wire(), static_cast<std::int64_t>(std::fmod(sum, 4294967296.0)));
    }
    case Moving::row_range:
      return Value::of_number(
          object.syntax.wire(),
          operating(now) ? 200 + satellites(seed_ + object.oid.back(), now) * 15 : unknown_of(object));
    case Moving::row_payload: {
      const auto enable = slot_of(model().object("rsuIFMEnable"));
      const Value* enabled = enable ? cell(*enable, index) : nullptr;
      const bool active = object.table != nullptr && rule_of(object.table) != nullptr &&
                          row_state(*object.table, index) == RowState::active;
      if (!operating(now) || !active || enabled == nullptr || enabled->number == 0) return std::nullopt;
      return Value::of_octets(application_payload(now));
    }
    default:
      return std::nullopt;
  }
}

/// Whole metres between where GNSS finds the unit and its reference position (NTCIP 1218
/// rsuLocationDeviation); nothing where either is unknown.
std::optional<std::int64_t> Store::deviation(const std::optional<Spot>& spot) const {
  constexpr std::int64_t unknown_latitude = 900000001;
  const std::int64_t latitude = number(model().object("rsuLocationLat"), 0, unknown_latitude);
  const std::int64_t longitude = number(model().object("rsuLocationLon"), 0, unknown_latitude);
  if (!spot || latitude == unknown_latitude) return std::nullopt;
  const Spot reference{static_cast<double>(latitude) / 1e7, static_cast<double>(longitude) / 1e7, 0};
  return std::min<std::int64_t>(20000, std::llround(metres_between(*spot, reference)));
}

/// Rows that send: active, enabled, and with a payload of their own or an application's.
std::map<std::string, double> Store::sending() const {
  std::map<std::string, double> rates;
  for (const auto& [table, rule] : tables_) {
    std::optional<std::size_t> enable;
    std::optional<std::size_t> interval;
    std::optional<std::size_t> psid;
    for (const std::size_t slot : rule.columns) {
      const std::string& name = slots_[slot].object->name;
      if (name == "rsuMsgRepeatEnable" || name == "rsuSRMEnable" || name == "rsuIFMEnable") enable = slot;
      if (name.ends_with("TxInterval")) interval = slot;
      if (name.ends_with("Psid")) psid = slot;
    }
    if (!enable || !psid) continue;
    for (const std::uint32_t index : rows(*table)) {
      const Value* enabled = cell(*enable, index);
      const Value* sender = cell(*psid, index);
      if (row_state(*table, index) != RowState::active || enabled == nullptr || enabled->number == 0)
        continue;
      if (sender == nullptr) continue;
      const Value* every = interval ? cell(*interval, index) : nullptr;
      rates[sender->octets] +=
          every != nullptr && every->number > 0 ? 1.0 / static_cast<double>(every->number) : application_rate;
    }
  }
  return rates;
}

Store::Air Store::air_at(std::int64_t now) const {
  Air air = running_.air;
  if (!model().mode || now <= air.until) return air;
  const std::int64_t operate = model().mode->status_operate;
  const Transition& transition = running_.transition;
  const std::int64_t turn = std::clamp(transition.due, air.until, now);
  const std::int64_t on_air =
      (transition.from == operate ? turn - air.until : 0) + (transition.to == operate ? now - turn : 0);
  if (on_air > 0)
    for (const auto& [psid, rate] : sending()) air.sent[psid] += rate * static_cast<double>(on_air);
  air.until = now;
  return air;
}

void Store::count_air(std::int64_t now) {
  running_.air = air_at(now);
}

}  // namespace vergeset::sim
