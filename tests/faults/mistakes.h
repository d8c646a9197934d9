#pragma once

#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "records/mistake.h"

namespace vergeset::faults {

/// The mistakes of records/mistake.h by name, in their order.
const std::vector<std::pair<std::string_view, records::Mistake>>& mistakes();
/// Those of them that a change of keys can make.
const std::vector<std::pair<std::string_view, records::Mistake>>& mistakes_of_keys();

std::optional<records::Mistake> mistake_named(std::string_view name);

}  // namespace vergeset::faults
