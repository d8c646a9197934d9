#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "records/disk.h"

namespace vergeset::records {

/// records/engines.jsonl: what the SNMPv3 engine of each unit said of itself when it was last heard, one
/// line a unit, so that the next visit need not discover it (RFC 3414 section 4). A unit that has another
/// engine by then is discovered after all: a line that is lost or wrong costs a round trip and no more,
/// and lines that cannot be read are passed over.
class Engines {
 public:
  struct Known {
    std::string id;            ///< octets
    std::uint32_t boots = 0;   ///< snmpEngineBoots
    std::int64_t started = 0;  ///< seconds since 1970 when its snmpEngineTime was 0, by our clock
    bool operator==(const Known&) const = default;
  };

  /// What is on record; nothing where there is no record.
  static Engines read(const Disk& disk);

  std::optional<Known> find(const std::string& unit) const;
  void note(const std::string& unit, const Known& known);
  /// Writes what was noted, over what is on record by then of other units. Where nothing has changed,
  /// nothing is written.
  void keep(Disk& disk);

 private:
  std::map<std::string, Known> known_;
  std::map<std::string, Known> noted_;  ///< since read()
};

}  // namespace vergeset::records
