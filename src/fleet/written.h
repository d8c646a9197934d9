#pragma once

#include <string>
#include <vector>

#include "schema/place.h"
#include "schema/yaml.h"

namespace vergeset::fleet {

/// A value as a file has it, under its name. What it means is asked later, once for each unit: its
/// model decides how it travels, its site record what stands in for {site.latitude}.
struct Written {
  std::string name;
  Place name_place;
  std::string text;
  Place place;
  bool from_file = false;  ///< `{file: PATH}`: text is the path
};

/// Reads `name: value`. A list of words (BITS) is joined by commas. An unquoted {unit} at the start
/// of a value is a flow map to YAML; it is taken as the text that its author meant. Anything else is
/// a fault, and reads as nothing.
std::optional<Written> read_written(const schema::Entry& key, const schema::Entry& value);

/// As above for a value that may not come from a file.
std::optional<Written> read_plain(const schema::Entry& key, const schema::Entry& value);

}  // namespace vergeset::fleet
