#pragma once

#include <cstdint>
#include <string>

struct enginetime_struct;

namespace vergeset::snmp {

/// What one link knows of its engine's snmpEngineBoots and snmpEngineTime (RFC 3414 2.3).
///
/// net-snmp keeps these in a table of the process, by engine id, that only grows; and one entry for
/// two units that were given the same engine id (it happens where a configuration was cloned) throws
/// each of them out of the other's time window. So every link owns a clock and shows it to the
/// library only during a call: between calls no engine is found in the table.
class Clock {
 public:
  /// Takes over what the library noted of this engine while it was discovered.
  explicit Clock(std::string engine_id);
  /// As it was remembered; `time` as of now.
  Clock(std::string engine_id, std::uint32_t boots, std::uint32_t time);

  /// Puts the clock into the library's table; before each call that builds or reads a message.
  void show() const;
  /// Takes it out again, as the call left it.
  void hide();

  const std::string& engine_id() const { return engine_id_; }
  std::uint32_t boots() const { return boots_; }
  /// As of now.
  std::uint32_t time() const;

 private:
  void take(const enginetime_struct& entry);

  std::string engine_id_;
  int bucket_ = -1;  ///< of the library's table
  std::uint32_t boots_ = 0;
  std::uint32_t time_ = 0;
  std::int64_t stamped_ = 0;  ///< the library's own time when it noted the two
  std::uint32_t authenticated_ = 0;
};

/// Takes an engine out of the library's table while no clock is shown: for ids that came in an answer
/// but belong to no link.
void forget_engine(const std::string& engine_id);

}  // namespace vergeset::snmp
