#include "fleet/wave.h"

#include <charconv>

namespace vergeset::fleet {

Result<Wave> parse_wave(const std::string& text) {
  if (text == "rest") return Wave{Wave::Kind::rest, 0};
  const Problem problem{"expected a number of units, a share as in 10%, or rest, found " + text};
  int number = 0;
  const char* const last = text.data() + text.size();
  const auto [end, error] = std::from_chars(text.data(), last, number);
  if (error != std::errc() || number < 1) return problem;
  if (end == last) return Wave{Wave::Kind::count, number};
  const std::string behind(end, last);
  if ((behind != "%" && behind != " %") || number > 100) return problem;
  return Wave{Wave::Kind::percent, number};
}

}  // namespace vergeset::fleet
