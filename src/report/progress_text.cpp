#include "report/progress_text.h"

#include <fmt/format.h>

#include <cmath>

namespace vergeset::report {

namespace {

/// 12,345
std::string grouped(std::size_t number) {
  const std::string digits = std::to_string(number);
  std::string text;
  for (std::size_t i = 0; i < digits.size(); ++i) {
    if (i > 0 && (digits.size() - i) % 3 == 0) text += ',';
    text += digits[i];
  }
  return text;
}

/// "45 s", "3 min", "2 h 10 min"
std::string time_left(double seconds) {
  const long long whole = std::llround(seconds);
  if (whole < 100) return fmt::format("{} s", whole);
  const long long minutes = (whole + 30) / 60;
  if (minutes < 100) return fmt::format("{} min", minutes);
  return fmt::format("{} h {} min", minutes / 60, minutes % 60);
}

}  // namespace

std::string progress_text(std::size_t total, std::size_t done, std::size_t in_hand, std::size_t failed,
                          std::chrono::milliseconds passed) {
  std::string text =
      fmt::format("read {} of {}; {} in hand", grouped(done), grouped(total), grouped(in_hand));
  if (failed > 0) text += fmt::format(", {} failed", grouped(failed));
  // How many end in a second says something only after those in hand at once have ended once over, and
  // nothing of what is left when all of that is in hand: those are the slow ones and the silent.
  if (done == 0 || done < in_hand || passed.count() <= 0) return text;
  if (done < total && total - done <= in_hand) return text;
  const double rate = static_cast<double>(done) * 1000 / static_cast<double>(passed.count());
  text += rate < 10 ? fmt::format("; {:.1f} a second", rate)
                    : fmt::format("; {} a second", grouped(static_cast<std::size_t>(rate)));
  if (done < total) text += fmt::format(", {} left", time_left(static_cast<double>(total - done) / rate));
  return text;
}

}  // namespace vergeset::report
