#pragma once

#include <cstdint>
#include <string>

#include "smi/value.h"

namespace vergeset::smi {

/// Whether values of the type keep theirs in `number`.
bool integer_kind(Type type);

/// Whether the type can carry the number: 32 bits with a sign for Integer32, without for the others
/// (RFC 2578 7.1.1); a Counter64 is held as its bit pattern, so any.
bool fits(Type type, std::int64_t number);

/// The number of an integer kind in decimal; a Counter64 without sign.
std::string number_text(const Value& value);

/// Whether two values of integer kinds are the same number; a Counter64 above the largest int64 is
/// no negative number.
bool same_number(const Value& a, const Value& b);

}  // namespace vergeset::smi
