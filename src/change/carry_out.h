#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <set>
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
  std::string what;         ///< for a person
  bool unnumbered = false;  ///< was not carried out, and is to be sent once more without a serial number
  bool untouched = false;   ///< failed because of another hand, and nothing of it reads as carried out
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

  /// A SET that got no answer, or a copy of one that was refused, may still be on its way, as long as the
  /// unit takes it for timely: 150 s (RFC 3414 2.2.3). Where it names a serial number, it is carried out only
  /// while the unit has that.
  struct Pending {
    std::optional<std::int64_t> number;
    std::chrono::milliseconds until{0};  ///< of Network::now
  };
  /// The last with a serial number.
  const std::optional<Pending>& numbered() const { return numbered_; }
  /// When the last of all can come.
  std::chrono::milliseconds latest() const;
  /// Of one that a program sent which was killed: it named no number that is not past but this.
  void may_come(std::chrono::milliseconds until);
  void unnumbered_may_come(std::chrono::milliseconds until) { unnumbered_ = {std::nullopt, until}; }
  void numbered_cannot_come() { numbered_.reset(); }
  void none_can_come();
  /// A SET of ours has named this number; a copy of it is carried out where the unit still has it, whatever
  /// it has acknowledged.
  bool named(std::int64_t number) const { return named_.count(number) > 0; }
  void keep_out(std::int64_t number);

 private:
  enum class ReadBack { done, not_done, in_part, other_hand, silent };

  snmp::Task<Carried> in_halves(snmp::Link& link, const std::vector<Assignment>& assignments,
                                std::chrono::milliseconds until);
  snmp::Task<ReadBack> read_back(snmp::Link& link, const std::vector<Assignment>& assignments,
                                 std::chrono::milliseconds until);
  snmp::Task<std::optional<Carried>> refused(snmp::Link& link, const snmp::Error& error,
                                             const std::vector<Assignment>& assignments,
                                             std::chrono::milliseconds until);

  snmp::Network& network_;
  SerialNo& serial_;
  std::optional<Pending> numbered_;
  std::optional<Pending> unnumbered_;
  std::set<std::int64_t> named_;
};

}  // namespace vergeset::change
