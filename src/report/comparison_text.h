#pragma once

#include <string>
#include <utility>
#include <vector>

#include "change/difference.h"
#include "checks/health.h"
#include "fleet/fleet.h"
#include "report/screen.h"

namespace vergeset::report {

/// "127.77.0.104:16161", "[2001:db8::7]:161".
std::string address_text(const fleet::Unit& unit);

/// What heads the lines about one unit: its name, model, address, and what is to be said of it.
std::string unit_line(const Screen& screen, const fleet::Unit& unit, const std::string& says);
/// The same with where its values are from in place of its address.
std::string unit_line(const Screen& screen, const fleet::Unit& unit, const std::string& from,
                      const std::string& says);

/// The differences as a table of setting, as found and desired, in words.
std::string differences_text(const Screen& screen, const std::vector<change::Difference>& differences);

/// What is to be told beside the differences, by heading: obstacles, rows that nobody asked for, objects
/// that are not there, its health.
std::vector<std::pair<std::string, std::vector<std::string>>> beside(
    const change::Comparison& comparison, const std::vector<checks::Finding>& health);

/// The same as text; empty where there is nothing.
std::string beside_text(const Screen& screen, const change::Comparison& comparison,
                        const std::vector<checks::Finding>& health);

/// "3 differences", "agrees".
std::string count_text(const change::Comparison& comparison);

}  // namespace vergeset::report
