#pragma once

#include <fmt/format.h>

#include <cstdio>
#include <functional>
#include <string>
#include <utility>

namespace vergeset::faults {

/// What happened in a run, line by line, for whoever looks into a failure. Off, a line costs nothing but the
/// question.
class Trace {
 public:
  bool on = false;
  std::function<std::int64_t()> now = [] { return std::int64_t{0}; };

  template <class... Parts>
  void say(fmt::format_string<Parts...> format, Parts&&... parts) {
    if (!on) return;
    const std::string line = fmt::format(format, std::forward<Parts>(parts)...);
    fmt::print("{:>9.3f}  {}\n", static_cast<double>(now()) / 1000, line);
  }
};

}  // namespace vergeset::faults
