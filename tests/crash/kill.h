#pragma once

#include <functional>
#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "eight_units.h"

namespace crash {

/// The environment in which kill_at.c ends a program of these records; it writes its calls to `calls`.
Environment ended_at(const std::string& records, const std::string& calls, int at, const std::string& how);
std::vector<std::string> lines_of(const std::string& path);

/// One of the moments of kill_at.c at which the program ends.
struct Point {
  int at = 0;  ///< which call, from 1
  std::string how = "before";
  int recover_at = 0;  ///< the recovery after it ends so too; 0: it does not
};

std::string text_of(const Point& point);

/// What a run of the program that ends nowhere goes through: "write journal.jsonl", "send", ...
std::vector<std::string> calls_of(const EightUnits& units, const std::vector<std::string>& words);

/// `vergeset WORDS...` that is ended at this call.
Ended vergeset_until(const EightUnits& units, const std::vector<std::string>& words, int at,
                     const std::string& how);

/// How units read before any change, and after one that nothing disturbs.
struct Sides {
  std::map<std::string, std::string> found;
  std::map<std::string, std::string> desired;
};
Sides sides_of(const EightUnits& units);

/// Empty where, after a recovery, every unit is wholly as found or wholly as desired, the records say the
/// same of each, and another recovery finds nothing and sends no SET; otherwise what is not so. Calls
/// `recover` itself.
std::string judge(const EightUnits& units, const Sides& sides);

/// What came of points.
struct Tally {
  int kills = 0;  ///< of apply and of recover; a run may end before its point
  std::vector<std::string> problems;
};

/// Runs all points, some side by side: `at_point` says what went wrong at one, or nothing, with the units of
/// this lane alone, and counts kills.
Tally run_points(const std::vector<Point>& points, int lanes,
                 const std::function<std::string(int lane, const Point& point, int& kills)>& at_point);

/// The same for `apply`, on eight units a lane.
Tally run_points(const std::vector<Point>& points, int lanes);

}  // namespace crash
