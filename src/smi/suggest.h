#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace vergeset::smi {

/// The one of `known` that `wrong` probably meant: at most two letters off (insertion, deletion,
/// change, swap of neighbours) or alike but for case and dashes; empty where none or where two are
/// equally near.
std::string nearest(std::string_view wrong, const std::vector<std::string>& known);

/// "; did you mean X?" or nothing, for the end of a message.
std::string suggestion(std::string_view wrong, const std::vector<std::string>& known);

}  // namespace vergeset::smi
