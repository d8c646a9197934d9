#pragma once

#include <string>
#include <vector>

#include "change/audit.h"
#include "records/journal.h"
#include "report/screen.h"

namespace vergeset::report {

/// Which units let in what they had from the factory, and when that was tried; empty where none does.
std::string factory_text(const Screen& screen, const std::vector<change::Audited>& units);

records::Json factory_json(const change::Audited& unit);

}  // namespace vergeset::report
