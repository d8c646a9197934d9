#pragma once

#include <algorithm>
#include <chrono>

namespace vergeset::snmp {

/// A rate that is not to be exceeded for long: as many as `most` at once, and `per_second` in the long run.
/// The time is told, in milliseconds that only go on. Sixteen octets, so that each of ten thousand units has
/// its own.
class Bucket {
 public:
  struct Rate {
    double most = 1;
    double per_second = 1;
  };

  /// Whether one more is within the rate; it counts then.
  bool take(const Rate& rate, std::chrono::milliseconds now) {
    const double passed = static_cast<double>(std::max<std::int64_t>((now - filled_).count(), 0)) / 1000;
    used_ = std::max(0.0, used_ - passed * rate.per_second);
    filled_ = std::max(filled_, now);
    if (used_ + 1 > rate.most) return false;
    used_ += 1;
    return true;
  }

 private:
  double used_ = 0;
  std::chrono::milliseconds filled_{0};
};

}  // namespace vergeset::snmp
