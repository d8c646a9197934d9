#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "records/clock.h"
#include "records/disk.h"

namespace vergeset::records {

/// Lines on notifications in units' logs. Whoever holds a unit's keys may send without end, so of one unit
/// there are sixty lines at once and one more a minute, and what says the same within a minute is counted and
/// told at its end ("37 more linkDown in the last minute"): some 500 KB a unit and day at the very most. What
/// is held in memory is a few hundred octets of a unit that has sent in the last hour.
///
/// What a unit wants acknowledged has a line of its own, or is refused: then it is not to be acknowledged,
/// and the unit sends it again.
class NotificationLog {
 public:
  using Time = std::chrono::milliseconds;

  NotificationLog(Disk& disk, const Clock& clock) : disk_(disk), clock_(clock) {}

  struct Line {
    std::string name;  ///< what it is counted as: "linkDown"
    std::string text;  ///< the whole line
    bool acknowledged = false;
  };
  enum class Took { written, counted, refused };
  /// `now` only goes on; the wall clock is asked for stamps alone.
  Took add(const std::string& unit, const Line& line, Time now);
  /// A line that does not count, as on an audit that a notification begins.
  void note(const std::string& unit, const std::string& text);

  /// What was added is in the logs; on stable storage, where anything that is to be acknowledged is among it.
  /// Throws DiskError.
  void flush();
  /// Writes what was counted in minutes that have ended, and forgets units that are quiet; `all`: as if every
  /// minute had ended. Tells of each line (unit, text). Call flush() after it.
  void close_minutes(Time now, bool all,
                     const std::function<void(const std::string&, const std::string&)>& told);

  std::size_t units_held() const { return units_.size(); }

 private:
  struct Said {
    std::size_t print = 0;
    std::string name;
    std::size_t more = 0;
  };
  struct Unit {
    double used = 0;  ///< of the lines at once
    Time filled{0};
    Time minute{0};          ///< when the one under way began
    std::vector<Said> said;  ///< in it
    std::size_t others = 0;  ///< that there was no line for
    std::size_t refused = 0;
  };
  struct Waiting {
    std::string text;
    bool durable = false;
  };
  static std::string rest_of(const Unit& unit);
  void put(const std::string& unit, std::string_view text, bool durable);

  Disk& disk_;
  const Clock& clock_;
  std::map<std::string, Unit> units_;
  std::map<std::string, Waiting> waiting_;
};

}  // namespace vergeset::records
