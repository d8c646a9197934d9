#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schema/yaml.h"

namespace vergeset::fleet {

/// How much a finding matters, in the words of syslog (RFC 5424 6.2.1). An error makes a command end with
/// the status for units in need of attention.
enum class Severity { ignore, notice, warning, error };

std::string_view severity_name(Severity severity);
std::optional<Severity> severity_named(std::string_view name);

/// A rule that findings follow: what is held against it, how much it matters unless the fleet says
/// otherwise, and where it comes from. The name is what `severities:` of fleet.yaml calls it by.
struct Rule {
  std::string_view name;
  Severity usual;
  std::string_view meaning;
  std::string_view source;
};

/// All rules, in the order in which people are told of them.
const std::vector<Rule>& rules();
/// The rule of a name that is one.
const Rule& rule_named(std::string_view name);

/// How much each rule matters to a fleet.
class Severities {
 public:
  Severity of(std::string_view rule) const;
  void set(std::string_view rule, Severity severity) { own_[std::string(rule)] = severity; }

 private:
  std::map<std::string, Severity, std::less<>> own_;
};

/// `severities:`, each rule by its name.
Severities read_severities(const schema::Entry& entry);

}  // namespace vergeset::fleet
