#pragma once

#include <cstdint>
#include <vector>

#include "records/disk.h"
#include "report/standing.h"

namespace vergeset::cli {

/// What the records say of these units over so many nights up to `now`.
report::Standing read_standing(const records::Disk& disk, const fleet::Fleet& fleet,
                               const std::vector<const fleet::Unit*>& units, std::size_t nights,
                               std::int64_t now);

}  // namespace vergeset::cli
