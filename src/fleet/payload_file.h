#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>

#include "schema/place.h"

namespace vergeset::fleet {

/// The most octets of a payload: both RSU standards, after IEEE 1609.3.
inline constexpr std::size_t most_payload = 2302;

/// Hex digits, blanks and line ends free, `#` to the end of the line a comment. Nothing where the
/// text is no payload; each reason is a fault with its place within the file.
std::optional<std::string> parse_payload(std::string_view text, const std::string& file, Faults& faults);

/// The payload files of a fleet, each read once though a thousand units name it.
class Payloads {
 public:
  Payloads(std::string folder, Faults& faults) : folder_(std::move(folder)), faults_(faults) {}

  struct Loaded {
    std::string problem;                ///< why the file could not be read; empty where it was
    std::optional<std::string> octets;  ///< nothing where its content is faulty, which is reported already
  };
  const Loaded& read(const std::string& path);

  const std::set<std::string>& files() const { return files_; }

 private:
  std::string folder_;
  Faults& faults_;
  std::map<std::string, Loaded> loaded_;
  std::set<std::string> files_;
};

}  // namespace vergeset::fleet
