#pragma once

#include <map>
#include <string>

#include "map_message.h"

/// Intersections as an engineer describes them, arm by arm, and the lanes that follow. Traffic keeps
/// to the right. The head of inventories/larkmoor/payloads/intersections.yaml explains the form.
namespace vergeset::payloads {

/// By unit. A description that cannot be read is a std::runtime_error with its place.
std::map<std::string, Map> read_intersections(const std::string& file);

}  // namespace vergeset::payloads
