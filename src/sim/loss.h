#pragma once

#include <cstdint>
#include <string_view>

namespace vergeset::sim {

/// What a bad road to a unit loses, by chance: each datagram towards the unit and each answer with the
/// same share, independently of one another. Drawn from a seed and the unit's name alone, so that the
/// same datagrams in the same order fare the same in every run, and no two units alike.
class Loss {
 public:
  Loss() = default;  ///< nothing is lost
  Loss(double percent, std::uint64_t seed, std::string_view unit);

  bool takes_request() { return requests_.falls_below(share_); }
  bool takes_answer() { return answers_.falls_below(share_); }

 private:
  struct Draw {
    std::uint64_t state = 0;
    bool falls_below(double share);
  };

  double share_ = 0;
  Draw requests_;
  Draw answers_;
};

}  // namespace vergeset::sim
