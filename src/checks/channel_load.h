#pragma once

#include <optional>
#include <string>
#include <vector>

#include "checks/finding.h"

namespace vergeset::checks {

/// What a unit is told to put on one channel of one radio: by its desired rows of store-and-repeat and
/// immediate-forward that are switched on.
struct ChannelLoad {
  std::string radio;           ///< the row's name in the files; empty where no radio row has the channel
  std::optional<int> channel;  ///< nothing where neither the rows nor the radio say
  bool cellular = false;       ///< C-V2X: its scheduler, not a formula, says how long a message takes
  std::size_t rows = 0;
  std::size_t assumed = 0;  ///< of them forwarded ones, whose rate and size only the sender knows
  double messages = 0;      ///< a second
  double octets = 0;        ///< a second, headers and signatures included
  double share = 0;         ///< of the time that the radio is on the channel; 0 of C-V2X
  Place place;              ///< of the row that adds most
};

/// By radio and channel. What is handed to the unit and sent at once comes as often, and has as many octets,
/// as the limits forward-rate and forward-octets say: nothing in the files tells.
std::vector<ChannelLoad> channel_loads(const fleet::Unit& unit, const fleet::Limits& limits);

/// "radio first, channel 172: 4.2 % of the time by 3 messages, 12.0 a second, 2,345 octets a second"
std::string load_text(const ChannelLoad& load);

/// A finding for each channel that is loaded above limit channel-load, and for rows that name a channel which
/// no radio of theirs is on.
void judge_channel_load(const fleet::Unit& unit, const fleet::Limits& limits, Findings& findings);

}  // namespace vergeset::checks
