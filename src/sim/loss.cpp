#include "sim/loss.h"

#include "sim/moving.h"

namespace vergeset::sim {

namespace {

/// SplitMix64 (G. Steele, D. Lea, C. Flood, 2014; its numbers from memory).
std::uint64_t next(std::uint64_t& state) {
  std::uint64_t mixed = state += 0x9e3779b97f4a7c15U;
  mixed = (mixed ^ (mixed >> 30U)) * 0xbf58476d1ce4e5b9U;
  mixed = (mixed ^ (mixed >> 27U)) * 0x94d049bb133111ebU;
  return mixed ^ (mixed >> 31U);
}

}  // namespace

Loss::Loss(double percent, std::uint64_t seed, std::string_view unit) : share_(percent / 100) {
  std::uint64_t state = seed_of(unit) ^ next(seed);
  requests_.state = next(state);
  answers_.state = next(state);
}

bool Loss::Draw::falls_below(double share) {
  constexpr double one_of_53_bits = 1.0 / 9007199254740992.0;  // 2^-53
  return share > 0 && static_cast<double>(next(state) >> 11U) * one_of_53_bits < share;
}

}  // namespace vergeset::sim
