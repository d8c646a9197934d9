#pragma once

#include <yaml-cpp/yaml.h>

#include <cstdint>
#include <functional>
#include <set>
#include <string>

namespace vergeset::payloads {

/// A description that cannot be read: `file:line:column: what is wrong`.
[[noreturn]] void refuse(const std::string& file, const YAML::Node& at, const std::string& why);

/// A map of a description whose keys are all known, read key by key.
class Entry {
 public:
  /// Refuses a node that is no map, or that has a key other than `keys`.
  Entry(std::string file, YAML::Node node, const std::set<std::string>& keys);

  bool has(const std::string& key) const;
  std::string text(const std::string& key) const;
  double number(const std::string& key) const;
  /// A number in steps of `step` (54.9000001 in steps of 1e-7 is 549000001), to the nearest.
  std::int64_t steps(const std::string& key, double step) const;
  int whole(const std::string& key) const;
  YAML::Node list(const std::string& key) const;

  const std::string& file() const { return file_; }
  const YAML::Node& node() const { return node_; }

 private:
  YAML::Node get(const std::string& key) const;

  std::string file_;
  YAML::Node node_;
};

/// Loads `file` and calls `each` with the name and node of every entry under `key`. What `each` finds
/// out of bounds is told with the place of the entry.
void for_each_entry(const std::string& file, const std::string& key,
                    const std::function<void(const std::string&, const YAML::Node&)>& each);

}  // namespace vergeset::payloads
