#pragma once

#include <chrono>
#include <cstddef>
#include <string>

#include "change/settle.h"

namespace vergeset::cli {

/// How far the reading of many units has got: "read 1,234 of 10,000; 256 in hand, 3 failed; 812 a second,
/// 11 s left". Pure: the time that has passed is told.
std::string progress_text(std::size_t total, std::size_t done, std::size_t in_hand, std::size_t failed,
                          std::chrono::milliseconds passed);

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
