#pragma once

#include <string>
#include <string_view>

namespace vergeset::schema {

/// The first sentence of a description, on one line and short enough for the end of a line of a log: at most
/// 80 octets, cut between words. White space, controls and what is no UTF-8 are a space; a tag that the text
/// begins with ("<Definition>") is passed over, and what it marks ends before the next one. Empty where
/// nothing is said.
std::string first_sentence(std::string_view description);

}  // namespace vergeset::schema
