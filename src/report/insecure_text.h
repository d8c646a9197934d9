#pragma once

#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "report/json.h"
#include "report/screen.h"

namespace vergeset::report {

/// Units that are spoken to in a way that others can listen to or forge: by the same credential, for the same
/// reason.
struct Insecure {
  const fleet::Credential* credential = nullptr;
  std::vector<std::string> weaknesses;  ///< "MD5 is broken"
  std::vector<std::string> units;
};

/// Those among these units, by credential; none where all is secure. Told by every audit, so that nobody
/// forgets them.
std::vector<Insecure> insecure_units(const fleet::Fleet& fleet, const std::vector<const fleet::Unit*>& units);
/// Of the whole fleet.
std::vector<Insecure> insecure_units(const fleet::Fleet& fleet);

std::string insecure_text(const Screen& screen, const std::vector<Insecure>& insecure);
Json insecure_json(const std::vector<Insecure>& insecure);

}  // namespace vergeset::report
