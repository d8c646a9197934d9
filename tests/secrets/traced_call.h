#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// One line of `strace -ff -y -v -xx`: every text in it is written as \xNN.
namespace marks {

struct TracedCall {
  std::string name;                      ///< "write"
  std::string target;                    ///< what its first descriptor is: a path, "pipe:[123]", a socket
  std::string octets;                    ///< all its texts, one behind the other
  std::vector<std::string> arguments;    ///< of execve: the program, then its arguments
  std::vector<std::string> environment;  ///< of execve
  bool cut_short = false;                ///< a text was longer than strace was told to write
};

/// Nothing where the line is no call.
std::optional<TracedCall> read_call(std::string_view line);

}  // namespace marks
