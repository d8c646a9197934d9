#pragma once

#include <chrono>
#include <optional>
#include <set>
#include <string>

#include "change/carry_out.h"
#include "change/in_hand.h"

namespace vergeset::change {

/// A unit is read so often at most before it is called as it should be, where SETs may come in between.
constexpr int most_readings = 3;

/// Carries out the steps of one unit, one after the other, each of them in the journal on disk before its SET
/// leaves; keeps the time that the unit is off air because of us, and the bounds of it: W is the fleet's
/// mode-wait. A step goes on for W where no answer comes, but on the way there not longer than 2 W after the
/// unit was sent to standby. Putting back (put_back.h) begins no step later than 2 W after it began; what has
/// begun ends within W and one round of reading. Steps beside, a unit that comes back at all is back
/// on air within 6 W.
class Walk {
 public:
  Walk(InHand& hand, SerialNo& serial);

  enum class Way { there, back };
  /// Empty, or the first failure. On the way there it stops at that; on the way back it goes on as far as the
  /// unit answers: what cannot be put back must not keep the rest from it, least of all operate.
  /// `found` is what the steps rest on; `until` when no step is begun any more.
  snmp::Task<std::string> take(const Sequence& sequence, Way way, const AsFound& found,
                               std::optional<std::chrono::milliseconds> until = {});

  /// A SET that got no answer may still come, and a unit that was read as it should be not stay so. Nothing
  /// where none can. Otherwise none can when this ends, by a SET of the serial number alone or by the time
  /// that it takes, and the unit is to be read once more: empty; or why that is not known.
  snmp::Task<std::optional<std::string>> let_none_in();
  /// Where a copy of a SET of ours can still be carried out by a unit that reads this serial number, it is
  /// not to be let in.
  void keep_copies_out(const AsFound& read);
  /// One of a program that was killed may come until then.
  void may_come(std::chrono::milliseconds until) { setter_.may_come(until); }
  void unnumbered_may_come(std::chrono::milliseconds until) { setter_.unnumbered_may_come(until); }

  /// The last SET got no answer, nor did reading it back.
  bool silent() const { return silent_; }
  /// The instances of SETs that may have been carried out, in whole or in part.
  const std::set<smi::Oid>& touched() const { return touched_; }
  void was_touched(const smi::Oid& instance) { touched_.insert(instance); }
  bool mode_touched() const { return mode_touched_; }
  void mode_was_touched() { mode_touched_ = true; }

  /// Off air because of us, since when (of Network::now).
  const std::optional<std::chrono::milliseconds>& left_operate() const { return left_operate_; }
  void left_operate_at(std::chrono::milliseconds when) { left_operate_ = when; }
  /// The unit operates, or its change has ended: the time counts.
  void on_air_again();

 private:
  snmp::Task<void> announce(const Step& step, Way way, std::size_t number, const AsFound& found);
  snmp::Task<std::string> step(const Step& step, Way way, std::size_t number, const AsFound& found,
                               std::chrono::milliseconds until);
  snmp::Task<std::string> open_again();
  snmp::Task<std::string> past_the_numbered();
  std::chrono::milliseconds most_of_a_step(Way way, std::optional<std::chrono::milliseconds> until) const;

  InHand& hand_;
  SerialNo& serial_;
  Setter setter_;
  std::optional<std::chrono::milliseconds> left_operate_;
  std::size_t back_steps_ = 0;
  std::size_t fences_ = 0;
  std::set<smi::Oid> touched_;
  bool mode_touched_ = false;
  bool silent_ = false;
};

}  // namespace vergeset::change
