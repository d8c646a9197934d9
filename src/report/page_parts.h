#pragma once

#include <string_view>

namespace vergeset::report {

/// page/page.html, page/page.css and page/page.js, compiled in.
std::string_view page_html();
std::string_view page_css();
std::string_view page_js();

}  // namespace vergeset::report
