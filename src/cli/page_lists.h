#pragma once

#include <string>

#include "smi/result.h"

namespace vergeset::cli {

/// What the program knows, as markdown for a page of the manual: `limits`, `rules`, `site fields`,
/// `common settings`, `models`. A problem where no list has that name.
Result<std::string> page_list(const std::string& name, const std::string& schemas);

}  // namespace vergeset::cli
