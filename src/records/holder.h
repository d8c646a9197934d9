#pragma once

#include <string>

namespace vergeset::records {

/// Who has something to himself, and what for. It stands in the file that is locked, for whoever comes
/// second: the lock itself is the system's.
struct Holder {
  std::string who;      ///< user@host
  std::string command;  ///< "apply", "rollback 0042"
  std::string since;    ///< RFC 3339
  int process = 0;      ///< its id on that host
};

std::string to_yaml(const Holder& holder);

/// "ops@desk (apply, since 2026-11-25T02:00:00.000Z, process 4711)" of such a text. A holder that has not
/// written its name yet, or wrote none that can be read, is told without it. What another user wrote there
/// cannot move a terminal's cursor.
std::string held_by(const std::string& text);

/// Writes the name into the file that is locked. Where it cannot, the lock holds all the same.
void write_name(int descriptor, const Holder& holder);

}  // namespace vergeset::records
