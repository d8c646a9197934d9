#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "checks/finding.h"
#include "schema/model.h"
#include "smi/value.h"

namespace vergeset::checks {

/// What a unit says of its own state, judged: the mode reached against the mode asked, its status,
/// its satellites, its channels. Pure; `value_at` gives what was read, an absent value where it was not.
std::vector<Finding> health(const fleet::Fleet& fleet, const schema::Model& model,
                            const std::function<const smi::Value&(const smi::Oid&)>& value_at);

/// The objects that `health` wants to see.
std::vector<const schema::Object*> health_objects(const schema::Model& model);

}  // namespace vergeset::checks
