#pragma once

#include <yaml-cpp/yaml.h>

#include <string>

#include "smi/result.h"

namespace vergeset::records {

/// A parsed record, or why it is none.
Result<YAML::Node> parse_record(const std::string& text);

/// The text under a key; empty where there is none.
std::string text_at(const YAML::Node& map, const char* key);

}  // namespace vergeset::records
