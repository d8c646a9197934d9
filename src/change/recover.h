#pragma once

#include <functional>
#include <string>
#include <vector>

#include "change/outcome.h"
#include "change/settle.h"
#include "records/unfinished.h"

namespace vergeset::change {

struct RecoverOptions {
  std::string who;
  std::size_t at_once = 256;
  bool give_up = false;  ///< a unit that cannot be reached is put on record as needing attention
  std::function<std::string()> may_go_on;  ///< as of apply
  std::function<void(const fleet::Unit&, const UnitResult&)> unit_ends;
  Watcher watcher;
  /// Ends a unit of a change of keys (rekey.h, recover_keys). Empty: the key store is not at hand, and such
  /// changes stay unfinished.
  std::function<snmp::Task<UnitResult>(const fleet::Unit&, const records::HalfDone&, int change,
                                       records::Journal&, bool& unfinished)>
      keys = {};
};

/// What became of one unfinished change.
struct Recovered {
  records::Unfinished was;
  std::vector<UnitResult> units;        ///< in the order of `was.units`
  std::vector<std::string> unfinished;  ///< those of them that are so still; their result says why
  bool ended = false;                   ///< the change is on record as ended
  std::string stopped;                  ///< why not all was done; empty
};

/// Why no change may be begun: one before has not ended. Empty where all have.
std::string why_not_apply(const records::Disk& disk);

/// Ends every change that the records show as unfinished. A unit for which every step was announced is
/// finished where reading it shows that nothing but the last step is missing: `settled`. Any other is put
/// back from its snapshot and verified: `restored`, or `needs attention`. A unit that was not begun was not
/// touched: `held`. One that gives no answer, or is another, stays unfinished for the next recovery, unless
/// `give_up`. Doing it again does nothing more.
std::vector<Recovered> recover(const World& world, const RecoverOptions& options);

}  // namespace vergeset::change
