#pragma once

namespace vergeset::snmp {

/// What share of tries goes unanswered though the unit is there: over one link, or over all of a run. Pure.
///
/// Only requests that were answered at last count, so that a unit that is gone makes no network look bad.
/// What was seen fades: of more than a few hundred tries the older half counts half.
class Losses {
 public:
  /// A request was answered to the try behind so many that were lost.
  void answered(int lost);

  /// Of 1; as if four more tries had been answered, so that one mishap says little.
  double share() const;

  /// As many tries as leave a unit that is there unheard once in a million requests, sixteen at most. At a
  /// loss of 20 % each way, 36 % of tries, that is fourteen; where nothing is lost, one.
  int tries() const;

  static constexpr int most_tries = 16;

 private:
  double lost_ = 0;
  double answered_ = 0;
};

}  // namespace vergeset::snmp
