#include "checks/channel_load.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "checks/airtime.h"
#include "checks/message.h"
#include "checks/message_rows.h"
#include "smi/words.h"

namespace vergeset::checks {

namespace {

/// A radio's row, by what the files ask of it.
struct DesiredRadio {
  std::string name;
  std::optional<int> channel;
  std::optional<int> second;
  bool alternating = false;
  bool cellular = false;
};

/// The usual channel of C-V2X in the USA (NTCIP 1218's note on rsuRadioCh1).
constexpr int cellular_channel = 183;

/// IEEE 1609.4 (from memory): of each 100 ms a channel of two has 50, less a guard of 4.
constexpr double share_of_turns = 0.46;

std::optional<int> radio_number(const fleet::DesiredRow& row, std::string_view column) {
  const fleet::DesiredValue* const value = column_named(row, column);
  return value != nullptr ? std::optional(static_cast<int>(value->value.number)) : std::nullopt;
}

bool says_cellular(const fleet::DesiredRow& row) {
  const fleet::DesiredValue* const words = column_named(row, "description");
  if (words == nullptr) return false;
  const std::string text = smi::lower(words->value.octets);
  return text.find("c-v2x") != std::string::npos || text.find("pc5") != std::string::npos;
}

bool is_alternating(const fleet::DesiredRow& row) {
  const fleet::DesiredValue* const mode = column_named(row, "mode");
  return mode != nullptr && smi::to_text(mode->object->syntax, mode->value) == "alt";
}

std::vector<DesiredRadio> radios_of(const fleet::Unit& unit) {
  std::vector<DesiredRadio> radios;
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    if (table.table == nullptr || table.table->common != "radio") continue;
    for (const fleet::DesiredRow& row : table.rows) {
      if (!row.present) continue;
      DesiredRadio radio{row.label, radio_number(row, "channel"), radio_number(row, "second-channel"),
                         is_alternating(row), says_cellular(row)};
      radio.cellular = radio.cellular || radio.channel == cellular_channel;
      radios.push_back(std::move(radio));
    }
  }
  return radios;
}

/// The radio that sends on the channel; of a row without one the only radio, and its first channel.
const DesiredRadio* radio_for(const std::vector<DesiredRadio>& radios, const std::optional<int>& channel) {
  if (!channel) return radios.size() == 1 ? &radios.front() : nullptr;
  const auto found = std::ranges::find_if(radios, [&](const DesiredRadio& radio) {
    return radio.channel == channel || (radio.alternating && radio.second == channel);
  });
  return found == radios.end() ? nullptr : &*found;
}

struct Sent {
  double messages = 0;     ///< a second
  std::size_t octets = 0;  ///< of one, on the air
};

std::size_t psid_size(const MessageRow& row) {
  const fleet::DesiredValue* const psid = column_named(*row.row, "psid");
  return psid != nullptr ? psid->value.octets.size() : 4;
}

std::optional<Sent> sent_by(const MessageRow& row, const fleet::Limits& limits) {
  if (!row.enabled) return std::nullopt;
  const Envelope envelope = row.secured ? Envelope::sealed : Envelope::none;
  if (!row.repeated) {
    const auto octets = static_cast<std::size_t>(limits.forward_octets);
    return Sent{limits.forward_rate, frame_octets(octets, psid_size(row), envelope)};
  }
  if (row.payload == nullptr || !row.interval_ms || *row.interval_ms <= 0) return std::nullopt;
  const std::string& payload = row.payload->value.octets;
  const bool wrapped = j2735::in_envelope(payload);
  return Sent{1000.0 / static_cast<double>(*row.interval_ms),
              frame_octets(payload.size(), psid_size(row), wrapped ? Envelope::none : envelope)};
}

void add_to(ChannelLoad& load, const MessageRow& row, const Sent& sent, double on_channel, double& most) {
  const double octets = sent.messages * static_cast<double>(sent.octets);
  ++load.rows;
  if (!row.repeated) ++load.assumed;
  load.messages += sent.messages;
  load.octets += octets;
  if (!load.cellular) {
    load.share += sent.messages * static_cast<double>(airtime_us(sent.octets)) / 1e6 / on_channel;
  }
  if (octets > most) {
    most = octets;
    load.place = row.repeated ? row.place() : row.row->asked.place;
  }
}

}  // namespace

std::vector<ChannelLoad> channel_loads(const fleet::Unit& unit, const fleet::Limits& limits) {
  const std::vector<DesiredRadio> radios = radios_of(unit);
  std::map<std::pair<std::string, int>, std::pair<ChannelLoad, double>> loads;
  for (const MessageRow& row : message_rows(unit)) {
    const auto sent = sent_by(row, limits);
    if (!sent) continue;
    const DesiredRadio* const radio = radio_for(radios, row.channel);
    const auto channel = row.channel ? row.channel : radio != nullptr ? radio->channel : std::nullopt;
    const std::string name = radio != nullptr ? radio->name : "";
    auto& [load, most] = loads[{name, channel.value_or(-1)}];
    load.radio = name;
    load.channel = channel;
    load.cellular = radio != nullptr ? radio->cellular : channel == cellular_channel;
    const bool turns = radio != nullptr ? radio->alternating : row.by_turns;
    add_to(load, row, *sent, turns ? share_of_turns : 1, most);
  }
  std::vector<ChannelLoad> all;
  for (auto& [key, load] : loads) all.push_back(std::move(load.first));
  return all;
}

std::string load_text(const ChannelLoad& load) {
  std::string text = load.radio.empty() ? "no radio of these files" : "radio " + load.radio;
  text += load.channel ? fmt::format(", channel {}: ", *load.channel) : ": ";
  if (!load.cellular) text += fmt::format("{:.1f} % of the time by ", load.share * 100);
  text += fmt::format("{} {}, {:.1f} a second, {:.0f} octets a second", load.rows,
                      load.rows == 1 ? "message" : "messages", load.messages, load.octets);
  if (load.cellular) text += "; how long they take is up to the scheduler of C-V2X";
  if (load.assumed > 0) {
    text += fmt::format("; {} of them forwarded, at the rate and size of the limits", load.assumed);
  }
  return text;
}

void judge_channel_load(const fleet::Unit& unit, const fleet::Limits& limits, Findings& findings) {
  const bool radios_asked = std::ranges::any_of(unit.desired.tables, [](const fleet::DesiredTable& table) {
    return table.table != nullptr && table.table->common == "radio";
  });
  for (const ChannelLoad& load : channel_loads(unit, limits)) {
    if (!load.cellular && load.share * 100 > limits.channel_load) {
      findings.add("channel-load",
                   fmt::format("{}; {:.4g} % are wanted at most", load_text(load), limits.channel_load),
                   load.place);
    }
    if (radios_asked && load.radio.empty() && load.channel) {
      findings.add("channel-without-radio",
                   fmt::format("channel {} is sent on, and no radio row is on it", *load.channel),
                   load.place);
    }
  }
}

}  // namespace vergeset::checks
