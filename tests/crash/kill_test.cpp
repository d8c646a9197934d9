#include <algorithm>
#include <chrono>
#include <iostream>

#include "catch.h"
#include "kill.h"

/// The real program is killed at every call that leaves a trace, is recovered, and what has become of eight
/// units is read by net-snmp's own commands. Simulated units answer over UDP; the kill comes from kill_at.c.
namespace {

using crash::Point;

const std::vector<std::string> apply{"apply", "--yes", "--quiet"};
constexpr int lanes = 4;

/// The calls of an undisturbed change.
const std::vector<std::string>& calls() {
  static const std::vector<std::string> all = [] {
    const crash::EightUnits units(lanes);
    units.start_over();
    return crash::calls_of(units, apply);
  }();
  return all;
}

int count(const std::string& call) {
  return static_cast<int>(std::count(calls().begin(), calls().end(), call));
}

/// The call that takes the change's number: what is before it reads and keeps logs alone.
int begins_at() {
  const auto at = std::find(calls().begin(), calls().end(), "mkdir 0001");
  REQUIRE(at != calls().end());
  return static_cast<int>(at - calls().begin()) + 1;
}

/// Every `step`-th of the calls from `first` on, and some beyond the last: runs differ a little.
std::vector<Point> points_from(int first, int step) {
  std::vector<Point> points;
  for (int at = first; at <= static_cast<int>(calls().size()) + 10; at += step) points.push_back({at});
  return points;
}

void add(std::vector<Point>& points, const std::string& how, int most, int step) {
  for (int at = step; at <= most; at += step) points.push_back({at, how});
}

void check(const std::vector<Point>& points) {
  const auto began = std::chrono::steady_clock::now();
  const crash::Tally tally = crash::run_points(points, lanes);
  const auto took = std::chrono::duration<double>(std::chrono::steady_clock::now() - began);
  std::cout << points.size() << " points, " << tally.kills << " kills, of a change with " << calls().size()
            << " calls (" << count("write journal.jsonl") << " journal writes, " << count("send ")
            << " requests) in " << static_cast<int>(took.count()) << " s\n";
  for (const std::string& problem : tally.problems) UNSCOPED_INFO(problem);
  CHECK(tally.problems.empty());
}

TEST_CASE("killed at any of a few moments, a change is mended by recover", "[quick]") {
  std::vector<Point> points = points_from(begins_at() + 2, 19);
  add(points, "torn", count("write journal.jsonl"), 9);
  add(points, "after", count("send "), 50);
  check(points);
}

TEST_CASE("killed before any call of a change, it is mended by recover", "[long]") {
  std::vector<Point> points;
  for (int at = 1; at < begins_at(); at += 10) points.push_back({at});
  const std::vector<Point> all = points_from(begins_at(), 1);
  points.insert(points.end(), all.begin(), all.end());
  check(points);
}

TEST_CASE("killed in the middle of a journal write, or with a request under way, it is mended by recover",
          "[long]") {
  std::vector<Point> points;
  add(points, "torn", count("write journal.jsonl") + 2, 1);
  add(points, "after", count("send "), 3);
  check(points);
}

TEST_CASE("a recovery that is killed is mended by the next", "[long]") {
  std::vector<Point> points;
  for (int at = begins_at() + 12; at < static_cast<int>(calls().size()); at += 36) {
    for (const int recover_at : {1, 4, 12, 24, 36, 48, 64, 80, 100, 130}) {
      points.push_back({at, "before", recover_at});
    }
  }
  check(points);
}

TEST_CASE("a disk that is full from any of some moments on ends a change that recover mends", "[long]") {
  std::vector<Point> points;
  for (int at = begins_at() + 1; at < static_cast<int>(calls().size()); at += 12)
    points.push_back({at, "full"});
  check(points);
}

}  // namespace
