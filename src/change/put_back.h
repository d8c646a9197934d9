#pragma once

#include <string>

#include "change/in_hand.h"
#include "change/walk.h"

namespace vergeset::change {

/// Puts back what SETs of ours may have touched, as the snapshot holds it, and proves it by reading: in
/// reverse order, operate among the first of them where the unit was on air. The link is opened anew, so that
/// a unit that started anew is found again and another unit at its address is not touched. Where someone
/// else's hand or a restart comes between, it is tried again, up to five times within 2 W (walk.h).
class PutBack {
 public:
  /// What was read before the first SET: what else of it is another now is told.
  struct Before {
    const Wanted& wanted;
    const AsFound& found;
  };
  /// `before` may be none.
  PutBack(InHand& hand, Walk& walk, SerialNo& serial, const records::Snapshot& snapshot, const Before* before)
      : hand_(hand), walk_(walk), serial_(serial), snapshot_(snapshot), before_(before) {}

  /// Empty where the unit is as found, or why it is not. Judges its health from what was read.
  snmp::Task<std::string> run();

  /// Where it failed and the unit was on air: operate is asked for once more, whatever else is not as it was.
  /// What came of it, as a sentence behind a blank; empty where there is nothing to say.
  snmp::Task<std::string> last_word();

  /// It did not answer, or another unit did: nothing can be said of it.
  bool out_of_reach() const { return out_of_reach_; }

 private:
  snmp::Task<std::string> once(std::chrono::milliseconds until);
  snmp::Task<std::string> reach(std::chrono::milliseconds until);
  snmp::Task<std::string> verify();
  snmp::Task<std::string> operate_at_last();
  std::vector<Difference> ours(const AsFound& now) const;
  void mode_again(Sequence& back) const;
  std::string lost(const AsFound& now) const;

  InHand& hand_;
  Walk& walk_;
  SerialNo& serial_;
  const records::Snapshot& snapshot_;
  const Before* before_;
  AsFound found_;
  bool out_of_reach_ = false;
  bool stranger_ = false;
  bool hopeless_ = false;  ///< trying again would change nothing
};

}  // namespace vergeset::change
