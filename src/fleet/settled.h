#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "fleet/ask.h"

namespace vergeset::fleet {

/// What was made with certain texts put in for {channel} and the like, so that units with the same texts
/// share it. Holds the first few only: where each unit has a text of its own, as with {unit}, none is ever
/// asked for again.
template <class T>
class ByTexts {
 public:
  /// Nothing where none is known.
  std::shared_ptr<const T> find(const std::string& texts) const {
    const auto found = made_.find(texts);
    return found == made_.end() ? nullptr : found->second;
  }
  void keep(const std::string& texts, std::shared_ptr<const T> made) {
    constexpr std::size_t most = 64;
    if (made_.size() < most) made_.emplace(texts, std::move(made));
  }

 private:
  std::unordered_map<std::string, std::shared_ptr<const T>> made_;
};

/// The values that the asks of fleet.yaml and the groups came to without a fault, for all units at once.
class Settled {
 public:
  /// Those of these asks for one object, of which `top` are the strongest. Nothing where a unit's own layer,
  /// which does not last, is among them.
  ByTexts<DesiredValue>* of(const std::vector<Ask>& asks, const std::vector<const Ask*>& top);

 private:
  std::map<std::vector<const void*>, ByTexts<DesiredValue>> values_;
};

}  // namespace vergeset::fleet
