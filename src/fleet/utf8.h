#pragma once

#include <string_view>

namespace vergeset::fleet {

/// Whether octets are UTF-8 (RFC 3629): no overlong forms, no surrogates, nothing above U+10FFFF.
bool valid_utf8(std::string_view octets);

/// Whether text holds a control character other than tab and line ends.
bool has_control_character(std::string_view text);

}  // namespace vergeset::fleet
