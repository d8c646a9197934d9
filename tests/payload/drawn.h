#pragma once

#include <cstdint>
#include <random>
#include <string>

#include "checks/map_message.h"
#include "checks/signal_message.h"
#include "checks/traveller_message.h"

/// Messages that are drawn at random, with every field of the standard and at the ends of its bounds, as
/// XER (ITU-T X.693) for an encoder that is not ours and as what a decoder is to read of them.
namespace vergeset::payloads {

class Dice {
 public:
  explicit Dice(std::uint64_t seed) : engine_(seed) {}
  /// Each end a tenth of the time.
  std::int64_t number(std::int64_t low, std::int64_t high);
  bool one_in(int n) { return engine_() % static_cast<unsigned>(n) == 0; }

 private:
  std::mt19937_64 engine_;
};

/// Bounds that some decoders do not share with J2735, so that their reading can be compared.
struct Habits {
  bool additions = true;      ///< of a later version of the grammar
  bool regional = true;       ///< regional parts
  bool odd_longitude = true;  ///< the ends of the longitude's bounds
};

template <class Content>
struct Drawn {
  std::string xer;
  Content content;
};

Drawn<j2735::Map> draw_map(Dice& dice, const Habits& habits);
Drawn<j2735::Spat> draw_spat(Dice& dice, const Habits& habits);
Drawn<j2735::Traveller> draw_traveller(Dice& dice, const Habits& habits);

}  // namespace vergeset::payloads
