#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace vergeset::faults {

/// Everything that a run leaves to chance, from its seed alone: the same seed throws the same on every
/// machine, which the distributions of the standard library do not promise. SplitMix64.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : state_(seed) {}

  std::uint64_t next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15U);
    z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27U)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31U);
  }
  /// From `low` to `high`, both among them.
  std::int64_t between(std::int64_t low, std::int64_t high) {
    return low + static_cast<std::int64_t>(next() % static_cast<std::uint64_t>(high - low + 1));
  }
  std::size_t below(std::size_t count) { return static_cast<std::size_t>(next() % count); }
  double share() { return static_cast<double>(next() >> 11U) * 0x1p-53; }
  bool happens(double chance) { return share() < chance; }
  template <class T>
  const T& one_of(const std::vector<T>& all) {
    return all[below(all.size())];
  }
  /// Dice of their own for a part of a run, so that one more throw there moves nothing elsewhere.
  Dice apart() { return Dice(next()); }

 private:
  std::uint64_t state_;
};

}  // namespace vergeset::faults
