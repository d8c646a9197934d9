#pragma once

#include <string>

#include "report/standing.h"

namespace vergeset::report {

/// A fleet at a glance as one HTML file that wants nothing else: no server, no network, no other file. It has
/// a policy that lets its own script and style run and nothing besides (CSP, by SHA-256), and what units and
/// files say stands in it as data that the script shows as text.
std::string page(const Standing& standing);

/// What the page shows, as the JSON that stands in it: names are short where there is one of them for each
/// unit.
std::string page_json(const Standing& standing);

}  // namespace vergeset::report
