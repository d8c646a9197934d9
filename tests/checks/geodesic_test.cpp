#include "checks/geodesic.h"

#include <cmath>
#include <cstdio>
#include <fstream>
#include <limits>
#include <memory>
#include <random>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "catch.h"
#include "support/fleet_folder.h"

namespace {

using vergeset::checks::metres_between;
using vergeset::checks::Point;
using vergeset::checks::Way;
using vergeset::checks::way_between;

using Pairs = std::vector<std::pair<Point, Point>>;

/// What this command prints, by lines of numbers. GeodSolve is GeographicLib's own tool (package
/// geographiclib-tools).
std::vector<std::vector<double>> geod_solve(const std::string& options,
                                            const std::vector<std::string>& lines) {
  const vergeset::test::FleetFolder folder({});
  const std::string input = folder.path() + "/pairs";
  std::ofstream file(input);
  for (const std::string& line : lines) file << line << "\n";
  file.close();
  const std::string command = "GeodSolve " + options + " -p 9 --input-file " + input;
  const std::unique_ptr<FILE, int (*)(FILE*)> pipe(::popen(command.c_str(), "r"), ::pclose);
  REQUIRE(pipe);
  std::vector<std::vector<double>> answers;
  char text[512];
  while (std::fgets(text, sizeof text, pipe.get()) != nullptr) {
    std::istringstream words(text);
    std::vector<double>& numbers = answers.emplace_back();
    for (double number = 0; words >> number;) numbers.push_back(number);
  }
  INFO("GeodSolve is in the package geographiclib-tools: scripts/prepare test installs it");
  REQUIRE(answers.size() == lines.size());
  return answers;
}

/// Without an exponent, whose E would be taken for East.
std::string number_text(double number) {
  return fmt::format("{:.22f}", number);
}

std::string point_text(const Point& point) {
  return number_text(point.latitude) + " " + number_text(point.longitude);
}

std::string pair_text(const Point& from, const Point& to) {
  return point_text(from) + " " + point_text(to);
}

/// Evenly over the sphere, near each other as units and their sites are, antipodal and nearly so, poles,
/// both sides of the 180th meridian, and points that are one; each kind in a fixed share.
Pairs ten_thousand_pairs() {
  std::mt19937_64 dice(1218);
  const auto within = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(dice() >> 11U) / 9007199254740992.0;
  };
  const auto anywhere = [&] {
    return Point{std::asin(within(-1, 1)) * 180 / 3.14159265358979323846, within(-180, 180)};
  };
  const auto beyond = [](const Point& point) {
    return Point{-point.latitude, point.longitude > 0 ? point.longitude - 180 : point.longitude + 180};
  };
  const auto moved = [&](const Point& point, double degrees) {
    return Point{std::clamp(point.latitude + within(-degrees, degrees), -90.0, 90.0),
                 point.longitude + within(-degrees, degrees)};
  };
  Pairs pairs;
  for (int i = 0; i < 10000; ++i) {
    const Point from = anywhere();
    const double pole = i % 2 == 0 ? 90 : -90;
    switch (i % 10) {
      case 0:
        pairs.emplace_back(from, from);
        break;
      case 1:
        pairs.emplace_back(from, beyond(from));
        break;
      case 2:
        pairs.emplace_back(from, moved(beyond(from), 0.7));
        break;
      case 3:
        pairs.emplace_back(from, moved(beyond(from), 1e-5));
        break;
      case 4:
        pairs.emplace_back(Point{pole, from.longitude}, anywhere());
        break;
      case 5:
        pairs.emplace_back(Point{pole, from.longitude}, Point{i % 4 == 1 ? -pole : pole, within(-180, 180)});
        break;
      case 6:
        pairs.emplace_back(from, moved(from, 1e-3));
        break;
      case 7:
        pairs.emplace_back(Point{from.latitude, 179.99995}, Point{from.latitude, -179.99995});
        break;
      default:
        pairs.emplace_back(from, anywhere());
    }
  }
  return pairs;
}

TEST_CASE("ten thousand distances, antipodes and poles among them, are GeodSolve's to a millimetre") {
  // With -E GeodSolve goes by elliptic integrals, not by the series that way_between() goes by.
  const Pairs pairs = ten_thousand_pairs();
  std::vector<std::string> lines;
  for (const auto& [from, to] : pairs) lines.push_back(pair_text(from, to));
  const auto answers = geod_solve("-i -E", lines);
  double worst = 0;
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    const double off = std::abs(metres_between(pairs[i].first, pairs[i].second) - answers[i].at(2));
    if (!(off < 0.001)) FAIL_CHECK(lines[i] << ": " << off << " m off");
    worst = std::max(worst, off);
  }
  CHECK(worst < 0.001);
}

TEST_CASE("who goes as far as the distance by the bearing arrives within a millimetre, by GeodSolve") {
  // The bearing alone cannot be compared: between antipodes several ways are the shortest.
  const Pairs pairs = ten_thousand_pairs();
  std::vector<std::string> ways;
  for (const auto& [from, to] : pairs) {
    const Way way = way_between(from, to);
    if (!(way.bearing >= 0 && way.bearing < 360)) FAIL_CHECK(pair_text(from, to) << ": " << way.bearing);
    ways.push_back(
        fmt::format("{} {} {}", point_text(from), number_text(way.bearing), number_text(way.metres)));
  }
  const auto ends = geod_solve("-E", ways);
  std::vector<std::string> lines;
  for (std::size_t i = 0; i < pairs.size(); ++i)
    lines.push_back(pair_text({ends[i].at(0), ends[i].at(1)}, pairs[i].second));
  const auto missed = geod_solve("-i -E", lines);
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    if (!(missed[i].at(2) < 0.001)) FAIL_CHECK(ways[i] << ": " << missed[i].at(2) << " m off");
  }
}

TEST_CASE("published geodesics come out as published") {
  // Karney, Algorithms for geodesics (2013), table 4: phi1 = -30, lambda12 = 179.8, phi2 = 29.9 degrees gives
  // alpha1 = 161.89052473633 degrees and s12 = 19989832.827610 m, on WGS 84; from memory.
  const Way way = way_between({-30, 0}, {29.9, 179.8});
  CHECK(way.metres == Approx(19989832.827610).margin(1e-6));
  CHECK(way.bearing == Approx(161.89052473633).margin(1e-10));
  // A quarter of a meridian of WGS 84 is 10001965.729 m (common knowledge, from memory).
  CHECK(metres_between({0, 12}, {90, 12}) == Approx(10001965.729).margin(0.001));
}

TEST_CASE("a bearing is told clockwise from north") {
  CHECK(way_between({54, -20}, {54.1, -20}).bearing == 0);
  CHECK(way_between({54, -20}, {53.9, -20}).bearing == 180);
  CHECK(way_between({0, -20}, {0, -19.9}).bearing == 90);
  CHECK(way_between({0, -20}, {0, -20.1}).bearing == 270);
  CHECK(way_between({0, 0}, {0, -180}).bearing < 360);
  CHECK(way_between({54, -20}, {54, -20}).bearing == 180);
  CHECK(way_between({54, -20}, {54, -20}).metres == 0);
}

TEST_CASE("what is no point of the Earth has no distance") {
  const double none = std::numeric_limits<double>::quiet_NaN();
  CHECK(std::isnan(metres_between({none, 0}, {0, 0})));
  CHECK(std::isnan(metres_between({0, 0}, {0, none})));
  CHECK(std::isnan(metres_between({90.1, 0}, {0, 0})));
}

}  // namespace
