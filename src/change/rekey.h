#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "change/apply.h"
#include "change/recover.h"
#include "records/key_store.h"
#include "snmp/local_keys.h"
#include "snmp/network.h"

/// Changing a unit's keys over SNMP (RFC 3414 section 5): by a user for itself, or by adding a user beside
/// the one that opens the unit (RFC 3414 usmUserCloneFrom, RFC 3415 vacmSecurityToGroupTable), proving that
/// it works, and only then removing the other.
///
/// Whatever happens, a key that is stored opens the unit: new keys are on stable storage before the SET that
/// gives them to the unit leaves, and those that opened it stay there. A SET whose response was lost is never
/// sent again before usmUserSpinLock has been counted on, so that no copy of it can be carried out later.
namespace vergeset::change {

/// One way into a unit.
struct KeyWay {
  std::string name;  ///< for people: "credential factory", "the keys of change 0031"
  std::shared_ptr<const snmp::Principal> principal;
  std::string stored;     ///< id of the stored keys that it is; empty: none
  bool current = false;   ///< stored keys that were seen to open the unit
  std::string user = {};  ///< whose it is
};

/// Which user is to open a unit, and by which keys.
struct KeyGoal {
  const fleet::Unit* unit = nullptr;
  std::string credential;  ///< of fleet.yaml
  std::string user;
  std::string auth;  ///< protocols as in fleet.yaml
  std::string privacy;
  /// Its secrets where they are given; none: keys of this unit's own are made.
  std::shared_ptr<const snmp::Principal> given;
  /// Keys that were made for the unit and open it are replaced by others.
  bool renew = true;
  /// By which the unit may open now, in the order in which they are tried; each that does not is a failed
  /// attempt at the unit.
  std::vector<KeyWay> ways;
  /// By which another user may open it, who gives this one its keys (RFC 3414 usmUserAuthKeyChange); `ways`
  /// are then those of the user itself, which tell the keys that it has now. Empty: it gives itself its keys,
  /// or is made.
  std::vector<KeyWay> by;
  std::string by_credential;  ///< of fleet.yaml
  /// Users that are not to stay once the other has been proven to work: those of factory credentials.
  std::vector<std::string> remove;
};

/// What keys are made of and kept in. Outlives the change.
struct KeyTools {
  records::KeyStore& store;
  std::function<std::string(std::size_t)> random;  ///< octets, from a generator for secrets
};

/// Finds which way opens each unit and what would be done: the steps stand in the results' sequences by what
/// they are about, without values. Sends no SET.
std::vector<Preview> rekey_preview(const World& world, const std::vector<KeyGoal>& goals,
                                   const KeyTools& tools, std::size_t at_once);

/// One change of keys over the units of `previews` that would be changed, in waves as apply(). A unit is
/// `settled` when its new keys have opened it for reading and for writing, what opened it before is refused,
/// and its other users are as they were; `restored` when the change failed and what opened it before does
/// so again.
ChangeResult rekey(const World& world, const std::vector<KeyGoal>& goals,
                   const std::vector<Preview>& previews, const KeyTools& tools, const ApplyOptions& options);

snmp::LocalKeys local_keys(const records::StoredKeys& keys);

/// Who speaks with stored keys, as one way in; a problem where they are none.
Result<KeyWay> way_of(const records::StoredKeys& keys);

/// Ends the change of keys of one unit that was broken off: finds out which stored keys open it. The new
/// ones: it is finished, `settled`. Those before: nothing of the change is left on it, `restored`. Neither:
/// `needs attention`. Where another user gave it the keys, that user has to open it too before it is put
/// back. One that gives no answer stays unfinished. Where nothing was sent it is `held`.
snmp::Task<UnitResult> recover_keys(const World& world, const fleet::Unit& unit,
                                    const records::HalfDone& half, int change, records::Journal& journal,
                                    const KeyTools& tools, const RecoverOptions& options, bool& unfinished);

}  // namespace vergeset::change
