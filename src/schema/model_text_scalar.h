#pragma once

#include <string>

namespace vergeset::schema {

/// A scalar of YAML for a model file: bare where that is safe beyond doubt, or else in double quotes.
std::string yaml_scalar(const std::string& text);

}  // namespace vergeset::schema
