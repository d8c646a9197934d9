#include "yaml_read.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>
#include <stdexcept>

namespace vergeset::payloads {

void refuse(const std::string& file, const YAML::Node& at, const std::string& why) {
  const YAML::Mark mark = at.Mark();
  throw std::runtime_error(fmt::format("{}:{}:{}: {}", file, mark.line + 1, mark.column + 1, why));
}

Entry::Entry(std::string file, YAML::Node node, const std::set<std::string>& keys)
    : file_(std::move(file)), node_(std::move(node)) {
  if (!node_.IsMap()) {
    refuse(file_, node_, fmt::format("expected a map with {}", fmt::join(keys, ", ")));
  }
  for (const auto& pair : node_) {
    if (!keys.contains(pair.first.Scalar())) {
      refuse(file_, pair.first,
             fmt::format("\"{}\" is not known here, only {}", pair.first.Scalar(), fmt::join(keys, ", ")));
    }
  }
}

bool Entry::has(const std::string& key) const {
  return node_[key].IsDefined();
}

YAML::Node Entry::get(const std::string& key) const {
  const YAML::Node found = node_[key];
  if (!found.IsDefined()) {
    refuse(file_, node_, fmt::format("\"{}\" is missing", key));
  }
  return found;
}

std::string Entry::text(const std::string& key) const {
  const YAML::Node found = get(key);
  if (!found.IsScalar()) {
    refuse(file_, found, fmt::format("\"{}\" must be text", key));
  }
  return found.Scalar();
}

double Entry::number(const std::string& key) const {
  const YAML::Node found = get(key);
  double value = 0;
  if (!found.IsScalar() || !YAML::convert<double>::decode(found, value) || !std::isfinite(value)) {
    refuse(file_, found, fmt::format("\"{}\" must be a number", key));
  }
  return value;
}

std::int64_t Entry::steps(const std::string& key, double step) const {
  return std::llround(number(key) / step);
}

int Entry::whole(const std::string& key) const {
  const YAML::Node found = get(key);
  int value = 0;
  if (!found.IsScalar() || !YAML::convert<int>::decode(found, value)) {
    refuse(file_, found, fmt::format("\"{}\" must be a whole number", key));
  }
  return value;
}

YAML::Node Entry::list(const std::string& key) const {
  const YAML::Node found = get(key);
  if (!found.IsSequence() || found.size() == 0) {
    refuse(file_, found, fmt::format("\"{}\" must be a list", key));
  }
  return found;
}

void for_each_entry(const std::string& file, const std::string& key,
                    const std::function<void(const std::string&, const YAML::Node&)>& each) {
  YAML::Node root;
  try {
    root = YAML::LoadFile(file);
  } catch (const YAML::Exception& fault) {
    throw std::runtime_error(fmt::format("{}: {}", file, fault.what()));
  }
  const Entry top(file, root, {key});
  for (const auto& pair : root[key]) {
    try {
      each(pair.first.Scalar(), pair.second);
    } catch (const std::out_of_range& fault) {
      refuse(file, pair.first, fault.what());
    }
  }
}

}  // namespace vergeset::payloads
