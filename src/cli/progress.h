#pragma once

#include <chrono>
#include <cstddef>

#include "change/settle.h"

namespace vergeset::cli {

/// Tells on standard error how far it is: on a terminal one line that is written over, otherwise a line
/// every five seconds, so that short work leaves none. With --quiet nothing.
class ProgressLine : public change::Progress {
 public:
  ProgressLine(std::size_t total, bool quiet);
  ~ProgressLine() override;
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;

  void begins() override;
  void ends(bool failed) override;
  /// Time has passed, whether a unit has ended or not.
  void tick();

 private:
  using Clock = std::chrono::steady_clock;

  void show(Clock::time_point now);

  std::size_t total_;
  bool quiet_;
  bool terminal_;
  std::size_t in_hand_ = 0;
  std::size_t done_ = 0;
  std::size_t failed_ = 0;
  std::size_t shown_ = 0;  ///< columns that the line takes now
  Clock::time_point began_ = Clock::now();
  Clock::time_point next_;
};

}  // namespace vergeset::cli
