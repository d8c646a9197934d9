#pragma once

#include <chrono>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "change/settle.h"
#include "snmp/approach.h"

namespace vergeset::change {

/// A ladder from the address of a unit up to changing it: how far this machine gets, and what to do where it
/// gets no further. In the order in which an agent looks at a message: the clock before it decrypts (RFC 3414
/// 3.2, 7 and 8).
enum class Rung {
  address,  ///< a unit can have it, and this machine has a way to it
  ping,
  port,  ///< SNMP's
  engine,
  user,
  authentication,
  clock,
  privacy,
  reading,
  writing,
  model,
  unit,
};

std::string_view rung_name(Rung rung);

/// What was found on one rung.
struct Hold {
  enum class State {
    holds,
    passed,  ///< it does not hold, or cannot be told; the climb goes on
    ends,    ///< the climb ends here
  };
  Rung rung = Rung::address;
  State state = State::holds;
  std::string what;  ///< one line for a person
  std::string next;  ///< what to do about it; empty where nothing is to be done
};

std::string_view state_name(Hold::State state);

struct Climbed {
  const fleet::Unit* unit = nullptr;
  std::vector<Hold> holds;  ///< from the first rung to the one where it ended
  snmp::Way way;
  std::optional<snmp::Echo> echo;
  snmp::Engine engine;  ///< its id is empty where it was not discovered

  bool at_top() const { return !holds.empty() && holds.back().state != Hold::State::ends; }
  /// No answer came from the unit: it ended on the way to it.
  bool unanswered() const;
};

struct ReachOptions {
  /// Why there are no keys for a unit's credential: where its secrets were looked for. Asked where World has
  /// no keys for it.
  std::function<std::string(const fleet::Unit&)> no_keys;
  std::size_t at_once = 256;
};

/// Climbs for each unit until a rung ends it. Nothing is written to a unit (may_write.h), and what is not
/// the unit that the inventory names by its engine id is not spoken to as any user.
std::vector<Climbed> reach(const World& world, snmp::Approach& approach,
                           const std::vector<const fleet::Unit*>& units, const ReachOptions& options);

}  // namespace vergeset::change
