#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace vergeset::smi {

/// Text without the white space around it.
std::string_view trimmed(std::string_view text);

/// ASCII letters in lower case; other octets untouched.
std::string lower(std::string_view text);

/// Octets as one printable line: all but printable ASCII as \x0a. An agent's text ends up in
/// terminals and logs, where a raw control character could rewrite what stands there.
std::string escaped(std::string_view octets);

/// What stood in the place of something better, for the end of a problem: a word as it is, other
/// text in quotes, long text cut short, "nothing" for none.
std::string shown(std::string_view text);

/// A whole number as people write it: decimal with an optional sign, or hexadecimal behind 0x.
/// Nothing where it is no such number or does not fit.
std::optional<std::int64_t> whole_number(std::string_view text);
std::optional<std::uint64_t> unsigned_number(std::string_view text);

/// What stands behind 0x or 0X, or nothing.
std::optional<std::string_view> behind_0x(std::string_view text);

}  // namespace vergeset::smi
