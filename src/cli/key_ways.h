#pragma once

#include <string>
#include <vector>

#include "change/rekey.h"
#include "fleet/fleet.h"
#include "records/key_store.h"

namespace vergeset::cli {

/// What a person asks of a change of keys.
struct KeyWishes {
  std::string from;  ///< a credential; empty: the stored keys, and the factory's credentials
  std::string to;    ///< a credential; empty: each unit's own
  std::string by;    ///< a credential of another user, who changes them; empty: the unit's user does
  bool shared = false;
  bool keep_users = false;
};

/// What each unit is to be opened by, and by what it may be now. Reads the secrets that this takes, once
/// each. Shared secrets are drawn here, and put on stable storage where `keep`.
Result<std::vector<change::KeyGoal>> key_goals(const fleet::Fleet& fleet,
                                               const std::vector<const fleet::Unit*>& units,
                                               const KeyWishes& wishes, records::KeyStore& store, bool keep);

}  // namespace vergeset::cli
