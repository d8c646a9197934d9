#pragma once

#include <string>
#include <string_view>

namespace vergeset::report {

/// Text as text of an HTML or SVG document, in an attribute too: none of it is markup (HTML 13.3,
/// XML 1.0 2.4). It is to be inert before (smi/inert.h).
std::string as_markup(std::string_view text);

}  // namespace vergeset::report
