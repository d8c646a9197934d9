#include "cli/progress.h"

#include <algorithm>

#include "cli/print.h"
#include "report/progress_text.h"

namespace vergeset::cli {

namespace {

using std::chrono::milliseconds;

constexpr milliseconds between_lines{5000};
constexpr milliseconds between_looks{200};

}  // namespace

ProgressLine::ProgressLine(std::size_t total, bool quiet)
    : total_(total),
      quiet_(quiet),
      terminal_(can_write_over()),
      next_(began_ + (terminal_ ? between_looks : between_lines)) {}

ProgressLine::~ProgressLine() {
  if (shown_ == 0) return;
  print_over(std::string(shown_, ' '));
  print_over("");
}

void ProgressLine::begins() {
  ++in_hand_;
  tick();
}

void ProgressLine::ends(bool failed) {
  --in_hand_;
  ++done_;
  if (failed) ++failed_;
  tick();
}

void ProgressLine::tick() {
  if (quiet_) return;
  const Clock::time_point now = Clock::now();
  if (now >= next_) show(now);
}

void ProgressLine::show(Clock::time_point now) {
  next_ = now + (terminal_ ? between_looks : between_lines);
  std::string text = report::progress_text(total_, done_, in_hand_, failed_,
                                           std::chrono::duration_cast<milliseconds>(now - began_));
  if (!terminal_) return print_aside(text + "\n");
  // A line that wraps cannot be written over.
  text.resize(std::min(text.size(), static_cast<std::size_t>(screen_aside().width - 1)));
  print_over(text + std::string(shown_ > text.size() ? shown_ - text.size() : 0, ' '));
  shown_ = text.size();
}

}  // namespace vergeset::cli
