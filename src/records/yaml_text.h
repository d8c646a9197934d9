#pragma once

#include <yaml-cpp/yaml.h>

#include <string>

#include "smi/result.h"

namespace vergeset::records {

/// A parsed record, or why it is none.
Result<YAML::Node> parse_record(const std::string& text);

/// The text under a key; empty where there is none.
std::string text_at(const YAML::Node& map, const char* key);

/// A text as a YAML scalar: as it is where no YAML could take it for anything else, in quotes otherwise.
/// Records that are written a thousand at a time are put together from these: yaml-cpp's emitter finds out by
/// regular expressions which texts need quotes, and takes a hundred times as long.
std::string scalar(const std::string& text);

/// What `take` makes of a record; a record of another shape than expected is a problem.
template <class T, class Take>
Result<T> from_record(const std::string& text, Take take) {
  const auto parsed = parse_record(text);
  if (!parsed) return Problem{parsed.problem()};
  try {
    return take(*parsed);
  } catch (const YAML::Exception& error) {
    return Problem{"line " + std::to_string(error.mark.line + 1) + ": not the shape of such a record"};
  }
}

}  // namespace vergeset::records
