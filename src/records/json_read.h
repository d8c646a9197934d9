#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "records/journal.h"
#include "smi/result.h"

/// Records in JSON as they are found: cut short by a power cut, written by another version, edited by hand.
/// No shape of them may do more than be refused or passed over.
namespace vergeset::records {

/// A whole JSON text. One that nests deeper than any record is a problem, since to copy or to write such a
/// document takes as much stack as it nests.
Result<Json> parse_json(std::string_view text);

/// The text under a name; empty where this is no object or has no text there.
std::string text_in(const Json& object, const char* name);

/// The whole number under a name, where there is one that an int64 can tell.
std::optional<std::int64_t> number_in(const Json& object, const char* name);

}  // namespace vergeset::records
