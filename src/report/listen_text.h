#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "report/json.h"
#include "report/screen.h"

namespace vergeset::report {

/// What came while we listened, from the start on.
struct Heard {
  double seconds = 0;
  std::uint64_t datagrams = 0;      ///< and messages over such connections
  std::uint64_t notifications = 0;  ///< of units, those that were only counted in their logs too
  std::uint64_t units = 0;          ///< that sent any
  std::uint64_t acknowledged = 0;   ///< informs
  std::uint64_t discoveries = 0;    ///< asked who we are
  std::uint64_t audits = 0;
  std::uint64_t connections = 0;                               ///< over TLS and DTLS, by certificate
  std::uint64_t lost = 0;                                      ///< by the system, before they were read
  std::vector<std::pair<std::string, std::uint64_t>> dropped;  ///< by reason; those that are 0 too
};

/// One line: "12 notifications of 3 units; dropped: 5 unknown sender, 2 wrong digest".
std::string heard_line(const Heard& heard);

/// A row a figure; what did not occur is left out.
std::string heard_text(const Screen& screen, const Heard& heard);

Json heard_json(const Heard& heard);

/// One thing that happened: on a terminal wrapped behind its columns, in a pipe one line.
std::string event_text(const Screen& screen, const std::string& at, const std::string& unit,
                       const std::string& what);

}  // namespace vergeset::report
