#pragma once

#include <string>

#include "smi/result.h"

namespace vergeset::records {

/// A text with the SHA-256 over all of it in its last line, as a comment of YAML: "# digest: 1a2b...".
/// Whoever edits the text by hand breaks it. It tells slips and cuts; it is no signature.
std::string sealed(const std::string& body);

/// The digest that stands in the last line; empty where none does.
std::string seal_of(const std::string& text);

/// The text without its seal; a problem where there is none, or where it does not fit.
Result<std::string> unsealed(const std::string& text);

}  // namespace vergeset::records
