#pragma once

#include <chrono>
#include <string>
#include <vector>

#include "change/sequence.h"
#include "change/serial_no.h"
#include "snmp/network.h"

namespace vergeset::change {

/// How one request of a sequence ended.
struct Carried {
  enum class End {
    done,    ///< acknowledged, or read back as carried out
    failed,  ///< refused, or carried out in part
    silent,  ///< no answer, not even to reading it back
  };
  End end = End::done;
  std::string what;        ///< for a person
  bool untouched = false;  ///< failed because of another hand, and nothing of it reads as carried out
};

/// SETs of one unit, of which none is sent again blindly: a lost response says nothing about what was carried
/// out, and a repeated createAndGo answers inconsistentValue though the first one worked. Where it is lost,
/// what the SET was to do is read back, and sent again only where it was not done. A SET that is refused as
/// too big was not carried out (RFC 3416 4.2.5) and goes in halves, unless it makes a row. Each SET holds the
/// unit's serial number where there is one.
class Setter {
 public:
  Setter(snmp::Network& network, SerialNo& serial) : network_(network), serial_(serial) {}

  /// Goes on until `until` (of Network::now) where no answer comes, and once in any case. No assignments: a
  /// SET of the serial number alone.
  snmp::Task<Carried> carry_out(snmp::Link& link, const std::vector<Assignment>& assignments,
                                std::chrono::milliseconds until);

  /// A SET that got no answer may still be on its way: until when, of Network::now; nothing where none is.
  /// Where the unit counts, a later SET that was acknowledged keeps it out. Otherwise it may come as long as
  /// the unit takes it for timely: 150 s (RFC 3414 2.2.3).
  std::optional<std::chrono::milliseconds> may_come_until() const { return may_come_until_; }
  void may_come_until(std::chrono::milliseconds when) { may_come_until_ = when; }

 private:
  enum class ReadBack { done, not_done, in_part, other_hand, silent };

  snmp::Task<Carried> in_halves(snmp::Link& link, const std::vector<Assignment>& assignments,
                                std::chrono::milliseconds until);
  snmp::Task<ReadBack> read_back(snmp::Link& link, const std::vector<Assignment>& assignments,
                                 std::chrono::milliseconds until);
  snmp::Task<std::optional<Carried>> refused(snmp::Link& link, const snmp::Error& error,
                                             const std::vector<Assignment>& assignments,
                                             std::chrono::milliseconds until);
  void acknowledged();

  snmp::Network& network_;
  SerialNo& serial_;
  std::optional<std::chrono::milliseconds> may_come_until_;
};

}  // namespace vergeset::change
