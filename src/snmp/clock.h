#pragma once

#include <cstdint>
#include <string>

namespace vergeset::snmp {

/// What one link knows of its engine's snmpEngineBoots and snmpEngineTime (RFC 3414 2.3).
///
/// net-snmp keeps these in a table of the process, by engine id, that only grows; and one entry for
/// two units that were given the same engine id (it happens where a configuration was cloned) throws
/// each of them out of the other's time window for ever. So every link owns a clock. The library's
/// entry shows the clock of the link that used it last; where engine ids are unique, as they should
/// be, showing it costs one comparison. The last clock of an engine takes the entry out.
class Clock {
 public:
  /// Takes over what the library noted of this engine while it was discovered.
  explicit Clock(std::string engine_id);
  ~Clock();
  Clock(const Clock&) = delete;
  Clock& operator=(const Clock&) = delete;

  /// Makes the library's entry this clock's; before each call that builds or reads a message.
  void show();

  struct State {
    std::uint32_t boots = 0;
    std::uint32_t time = 0;
    std::int64_t stamped = 0;  ///< the library's own time when it noted the two
    std::uint32_t authenticated = 0;
  };
  const State& first() const { return first_; }  ///< as discovery found it

  struct Engine;

 private:
  std::string engine_id_;
  State first_;
  State state_;
  Engine* engine_;  ///< shared by all clocks of this engine id
};

/// Takes an engine out of the library's table unless a clock is held of it: for ids that came in an
/// answer but belong to no link.
void forget_engine(const std::string& engine_id);

}  // namespace vergeset::snmp
