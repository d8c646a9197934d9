#include "cli/progress.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>

#include "cli/print.h"

namespace vergeset::cli {

namespace {

using std::chrono::milliseconds;

constexpr milliseconds between_lines{5000};
constexpr milliseconds between_looks{200};

/// 12,345
std::string grouped(std::size_t number) {
  std::string text = std::to_string(number);
  for (std::size_t at = text.size(); at > 3;) text.insert(at -= 3, ",");
  return text;
}

/// "45 s", "3 min", "2 h 10 min"
std::string time_left(double seconds) {
  const auto whole = static_cast<long long>(seconds + 0.5);
  if (whole < 100) return fmt::format("{} s", whole);
  const long long minutes = (whole + 30) / 60;
  if (minutes < 100) return fmt::format("{} min", minutes);
  return fmt::format("{} h {} min", minutes / 60, minutes % 60);
}

}  // namespace

std::string progress_text(std::size_t total, std::size_t done, std::size_t in_hand, std::size_t failed,
                          milliseconds passed) {
  std::string text =
      fmt::format("read {} of {}; {} in hand", grouped(done), grouped(total), grouped(in_hand));
  if (failed > 0) text += fmt::format(", {} failed", grouped(failed));
  if (done == 0 || passed.count() <= 0) return text;
  const double rate = static_cast<double>(done) * 1000 / static_cast<double>(passed.count());
  text += rate < 10 ? fmt::format("; {:.1f} a second", rate)
                    : fmt::format("; {} a second", grouped(static_cast<std::size_t>(rate)));
  if (done < total) text += fmt::format(", {} left", time_left(static_cast<double>(total - done) / rate));
  return text;
}

ProgressLine::ProgressLine(std::size_t total, bool quiet)
    : total_(total),
      quiet_(quiet),
      terminal_(isatty(STDERR_FILENO) != 0),
      next_(began_ + (terminal_ ? between_looks : between_lines)) {}

ProgressLine::~ProgressLine() {
  if (shown_ > 0) print_aside("\r" + std::string(shown_, ' ') + "\r");
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
  const std::string text =
      progress_text(total_, done_, in_hand_, failed_, std::chrono::duration_cast<milliseconds>(now - began_));
  if (!terminal_) return print_aside(text + "\n");
  print_aside("\r" + text + std::string(shown_ > text.size() ? shown_ - text.size() : 0, ' '));
  shown_ = text.size();
}

}  // namespace vergeset::cli
