#include "checks/firmware.h"

#include <fmt/format.h>

#include <algorithm>

namespace vergeset::checks {

const schema::Object* firmware_object(const schema::Model& model) {
  return model.object("rsuFirmwareVersion");
}

void judge_firmware(const fleet::Fleet& fleet, const schema::Model& model, const std::string& version,
                    Findings& findings) {
  const auto approved = fleet.firmware.find(model.name);
  if (approved == fleet.firmware.end()) return;
  const std::string list = fmt::format("{}", fmt::join(approved->second, ", "));
  if (version.empty()) {
    findings.add("firmware", "the unit does not tell its firmware's version; approved are " + list);
  } else if (std::ranges::find(approved->second, version) == approved->second.end()) {
    findings.add("firmware", fmt::format("firmware {} is not approved; approved are {}", version, list));
  }
}

}  // namespace vergeset::checks
