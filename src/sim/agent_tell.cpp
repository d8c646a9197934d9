#include "sim/agent_tell.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <sstream>
#include <vector>

#include "sim/agent_control.h"
#include "sim/dead.h"

namespace vergeset::sim {

namespace {

namespace fs = std::filesystem;

int fail(const std::string& text) {
  fmt::print(stderr, "roadside-sim: {}\n", text);
  return 1;
}

bool refused(const std::string& answer) {
  return answer.starts_with("error: ");
}

int tell_one(const std::string& control, const std::string& unit, const std::string& line) {
  const auto answer = tell(control_path(control, unit), line);
  if (!answer) return fail(answer.problem());
  fmt::print(refused(*answer) ? stderr : stdout, "{}", *answer);
  return refused(*answer) ? 1 : 0;
}

/// The units that listen in a folder and fit one of the patterns, by name.
std::vector<std::string> listening(const std::string& control, const std::vector<std::string>& patterns) {
  std::vector<std::string> units;
  std::error_code error;
  for (fs::directory_iterator at(control, error); !error && at != fs::directory_iterator();
       at.increment(error)) {
    if (at->path().extension() != ".sock") continue;
    const std::string unit = at->path().stem().string();
    if (std::any_of(patterns.begin(), patterns.end(),
                    [&](const std::string& pattern) { return fits_pattern(pattern, unit); }))
      units.push_back(unit);
  }
  std::sort(units.begin(), units.end());
  return units;
}

/// Numbers by name, in the order in which the names first came.
class Sums {
 public:
  void add(const std::string& lines) {
    std::istringstream stream(lines);
    std::string name;
    for (std::uint64_t number = 0; stream >> name >> number;) {
      const auto found =
          std::find_if(sums_.begin(), sums_.end(), [&](const auto& sum) { return sum.first == name; });
      if (found == sums_.end())
        sums_.emplace_back(name, number);
      else
        found->second += number;
    }
  }
  void print() const {
    for (const auto& [name, sum] : sums_) fmt::print("{} {}\n", name, sum);
  }

 private:
  std::vector<std::pair<std::string, std::uint64_t>> sums_;
};

void print_under(const std::string& unit, const std::string& answer) {
  std::istringstream lines(answer);
  for (std::string line; std::getline(lines, line);)
    fmt::print(refused(line) ? stderr : stdout, "{}: {}\n", unit, line);
}

int tell_many(const std::string& control, const std::vector<std::string>& patterns, const std::string& line) {
  for (const std::string& pattern : patterns)
    if (listening(control, {pattern}).empty())
      return fail(fmt::format("no unit in {} is called {}", control, pattern));
  const auto units = listening(control, patterns);
  int status = 0;
  const bool add_up = line == "counters";
  Sums sums;
  for (const std::string& unit : units) {
    const auto answer = tell(control_path(control, unit), line);
    if (!answer || refused(*answer)) status = 1;
    if (!answer)
      fail(answer.problem());
    else if (add_up && !refused(*answer))
      sums.add("units 1\n" + *answer);
    else
      print_under(unit, *answer);
  }
  sums.print();
  return status;
}

}  // namespace

int tell_units(const std::string& control, const std::string& units, const std::string& line) {
  if (units.find_first_of("*?,") == std::string::npos) return tell_one(control, units, line);
  return tell_many(control, comma_parts(units), line);
}

}  // namespace vergeset::sim
