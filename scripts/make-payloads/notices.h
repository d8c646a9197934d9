#pragma once

#include <map>
#include <string>

#include "traveller_message.h"

/// Notices to drivers as an engineer describes them: where, from when, what is said. The head of
/// inventories/larkmoor/payloads/notices.yaml explains the form.
namespace vergeset::payloads {

/// By name. A description that cannot be read is a std::runtime_error with its place.
std::map<std::string, Traveller> read_notices(const std::string& file);

}  // namespace vergeset::payloads
