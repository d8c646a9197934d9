#include "report/channel_text.h"

#include <fmt/format.h>

#include "checks/channel_load.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

std::string channels_text(const Screen& screen, const fleet::Fleet& fleet) {
  Table table(2, {"unit", "radio", "channel", "messages", "a second", "octets a second", "of the time"});
  bool cellular = false;
  bool assumed = false;
  for (const fleet::Unit& unit : fleet.units) {
    for (const checks::ChannelLoad& load : checks::channel_loads(unit, fleet.limits)) {
      cellular = cellular || load.cellular;
      assumed = assumed || load.assumed > 0;
      table.add({unit.name, load.radio.empty() ? "none" : load.radio,
                 load.channel ? std::to_string(*load.channel) : "not said", std::to_string(load.rows),
                 fmt::format("{:.1f}", load.messages), fmt::format("{:.0f}", load.octets),
                 load.cellular ? "C-V2X" : fmt::format("{:.1f} %", load.share * 100)});
    }
  }
  if (table.empty()) return paragraph(screen, "No unit is told to repeat or forward a message.");
  std::string out = table.text(screen, true) + "\n";
  out += paragraph(
      screen,
      "Octets on the air, with headers and signatures (sizes from memory); time by IEEE 802.11-2016 "
      "clause 17 at 6 Mb/s in 10 MHz, without waiting for the channel.");
  if (cellular) out += paragraph(screen, "C-V2X: how long a message takes is up to its scheduler.");
  if (assumed) {
    out += paragraph(
        screen, fmt::format("What is forwarded at once is taken for {:g} messages a second of {:g} octets "
                            "(limits forward-rate, forward-octets).",
                            fleet.limits.forward_rate, fleet.limits.forward_octets));
  }
  return out;
}

Json channels_json(const fleet::Fleet& fleet) {
  Json out = Json::array();
  for (const fleet::Unit& unit : fleet.units) {
    for (const checks::ChannelLoad& load : checks::channel_loads(unit, fleet.limits)) {
      Json one{{"unit", unit.name},
               {"radio", load.radio},
               {"channel", nullptr},
               {"cellular", load.cellular},
               {"rows", load.rows},
               {"rows_assumed", load.assumed},
               {"messages_per_second", load.messages},
               {"octets_per_second", load.octets},
               {"share", nullptr}};
      if (load.channel) one["channel"] = *load.channel;
      if (!load.cellular) one["share"] = load.share;
      out.push_back(std::move(one));
    }
  }
  return out;
}

}  // namespace vergeset::report
