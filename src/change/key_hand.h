#pragma once

#include <functional>
#include <string>
#include <vector>

#include "change/in_hand.h"
#include "change/rekey.h"
#include "change/usm_users.h"

namespace vergeset::change {

/// What came of trying one way into a unit.
struct Tried {
  enum class Kind {
    opens,
    no_access,  ///< the keys are right, and the user may not read
    refused,    ///< unknown user, wrong keys, or another level of security
    stranger,   ///< another engine than the unit's: no key was used with it
    silent,     ///< no answer, or none that tells
  };
  Kind kind = Kind::silent;
  std::string why;  ///< empty where it opens
};

/// A unit whose users are being changed: the way by which it is open, and SETs that are carried out once or
/// not at all. Every SET names usmUserSpinLock, which the unit counts on with it, so that of all its copies
/// on the network one is carried out at most, and none after the lock has been counted on since.
class KeyHand {
 public:
  KeyHand(const World& world, const fleet::Unit& unit, records::Journal& journal,
          const SettleOptions& options)
      : hand_(world, unit, journal, options) {}

  InHand& hand() { return hand_; }
  snmp::Link& link() { return hand_.link(); }

  /// Opens the unit by this way, which it is asked by from then on. One authenticated request tells.
  snmp::Task<Tried> open(KeyWay way);
  const KeyWay& way() const { return way_; }

  /// Reads the users, their groups and the lock.
  snmp::Task<std::optional<snmp::Error>> look();
  const UnitUsers& users() const { return users_; }
  /// Reads instances; a unit that has started anew in between is opened anew.
  snmp::Task<Surveyed> read(std::vector<smi::Oid> instances);

  /// Whether a SET was carried out, as far as reading tells.
  enum class Seen { done, not_done, unknown };
  using Look = std::function<snmp::Task<Seen>()>;
  /// One SET, in the journal on disk before it leaves. Empty when it was carried out; otherwise why it was
  /// not and cannot be any more, or, where unknown() says so, why that is not known.
  snmp::Task<std::string> set(std::string about, std::vector<snmp::VarBind> varbinds, Look look);
  bool unknown() const { return unknown_; }
  /// A SET that changes nothing but the lock: no SET that named a number before can be carried out after it.
  /// It also shows that this user may write. Empty, or why not; unknown() as of set().
  snmp::Task<std::string> count_lock_on(std::string about);

 private:
  snmp::Task<std::optional<snmp::Error>> look_at_lock();
  snmp::Task<void> announce(std::string_view event, const std::string& about);

  InHand hand_;
  KeyWay way_;
  UnitUsers users_;
  std::size_t steps_ = 0;
  bool unknown_ = false;
};

/// Tries a way until it says something, three times at most.
snmp::Task<Tried> open_surely(KeyHand& hand, KeyWay way);

/// Whether the user that the unit is open by reads and writes.
snmp::Task<Tried> in_charge(KeyHand& hand);

}  // namespace vergeset::change
