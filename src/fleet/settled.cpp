#include "fleet/settled.h"

#include <algorithm>

namespace vergeset::fleet {

ByTexts<DesiredValue>* Settled::of(const std::vector<Ask>& asks, const std::vector<const Ask*>& top) {
  const auto passes = [](const Ask& ask) { return !ask.source->lasting; };
  if (std::any_of(asks.begin(), asks.end(), passes)) return nullptr;
  // What the value, its source and what it overrode are made of. The object stands for the model.
  std::vector<const void*> key{asks.front().meaning.object};
  key.reserve(3 * top.size() + asks.size() + 1);
  for (const Ask* ask : top) key.insert(key.end(), {ask->written, ask->meaning.common, ask->meaning.mapping});
  for (const Ask& ask : asks) key.push_back(ask.written);
  return &values_[std::move(key)];
}

}  // namespace vergeset::fleet
