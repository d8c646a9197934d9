#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "change/difference.h"
#include "report/screen.h"

namespace vergeset::report {

/// "1 unit", "3 units".
std::string counted(std::size_t count, const std::string& one, const std::string& many = {});

/// "4.4 s", "2 min 5 s".
std::string seconds_text(double seconds);

/// "40 units: 38 settled, 1 no answer, 1 held": the words in the order given, those that do not occur
/// left out.
std::string summary(const std::vector<std::string>& words, const std::vector<std::string>& found);

/// A value in words. Octets that are too many to read are shortened to the first of them, their number
/// and the first digits of their SHA-256: "001f2000...(34 octets, sha256 1a2b3c4d)".
std::string value_text(const Screen& screen, const smi::Syntax& syntax, const std::string& unit,
                       const smi::Value& value);

/// "value", "new row", "changed row", "removed row".
const char* kind_name(change::Difference::Kind kind);

/// "row that nobody asked for", "not offered", "left out".
const char* kind_name(change::Remark::Kind kind);

/// Runs of hex digits in a text, as in a unit's log, shortened likewise.
std::string shorten_hex(const Screen& screen, const std::string& text);

}  // namespace vergeset::report
