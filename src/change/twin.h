#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "change/as_found.h"
#include "change/difference.h"
#include "change/sequence.h"
#include "fleet/fleet.h"

namespace vergeset::change {

/// A twin is a simulated unit that holds what a real one answered, offers what that offers and nothing else,
/// and has the traits that the fleet gives it. Pure.

/// What `roadside-sim twins` reads of one twin (sim/twin_text.h): a line for the unit, and one a value.
/// Where `refuse_after` is given the twin lets so many SETs pass and refuses the next.
std::string twin_text(const fleet::Unit& unit, const AsFound& whole, std::optional<std::size_t> refuse_after);

/// What the twin of this unit could not know of it, as far as the survey and the change show.
struct Unknown {
  enum class Kind {
    not_answered,  ///< objects of the model that gave no answer: not offered, or not for us to read
    rows_untried,  ///< tables that had no row, and get one: what columns they offer is not known
    rows_limit,    ///< tables that get a row, and do not say how many they take
    not_allowed,   ///< values that the model does not allow: the twin would never take them back
    cuts_off,      ///< what can cut the manager off: a twin stays where it is
    mode,          ///< in which mode it is
  };
  Kind kind = Kind::not_answered;
  std::vector<std::string> names;  ///< objects as the model names them, tables as the files do
};
std::vector<Unknown> unknown_of(const fleet::Unit& unit, const AsFound& whole,
                                const std::vector<Difference>& differences, const Sequence& sequence);

/// The first instance that the unit's settings are in and that is another in `now`, with both values in
/// words; empty where all of them are as in `before`.
std::string first_unlike(const fleet::Unit& unit, const AsFound& before, const AsFound& now);

}  // namespace vergeset::change
