#pragma once

#include <chrono>
#include <cstddef>
#include <string>

namespace vergeset::report {

/// How far the reading of many units has got: "read 1,234 of 10,000; 256 in hand, 3 failed; 812 a second,
/// 11 s left". Speed and time are told only where they say something of the units that are left.
std::string progress_text(std::size_t total, std::size_t done, std::size_t in_hand, std::size_t failed,
                          std::chrono::milliseconds passed);

}  // namespace vergeset::report
