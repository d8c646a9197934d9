#include "checks/swapped.h"

#include <fmt/format.h>

#include <chrono>
#include <cmath>
#include <random>

#include "catch.h"

namespace {

using namespace vergeset::checks;

using Cycles = std::vector<std::vector<std::size_t>>;

/// So many metres north and east of a point in Larkmoor; a plane is good enough within some kilometres.
Point at(double north, double east) {
  return {54.9 + north / 111300, -20.0 + east / (111300 * 0.575)};
}

TEST_CASE("units that stand on each other's sites are named, and those at home are not") {
  const std::vector<Stands> units{
      {at(0, 0), at(2, 1)}, {at(0, 300), at(499, 702)}, {at(900, 0), at(901, 2)}, {at(500, 700), at(2, 303)}};
  const Swaps swaps = swapped(units);
  CHECK(swaps.cycles == Cycles{{1, 3}});
  CHECK_FALSE(swaps.on_site_of[0]);
  CHECK(swaps.on_site_of[1] == 3);
  CHECK(swaps.on_site_of[3] == 1);
}

TEST_CASE("longer cycles of swapped units are named in their order, each once") {
  std::vector<Stands> units;
  for (int i = 0; i < 7; ++i) units.push_back({at(i * 200, 0), at((i + 1) % 5 * 200 + 3, 2)});
  units[5].found = at(6 * 200, 1);
  units[6].found = at(5 * 200, -3);
  CHECK(swapped(units).cycles == Cycles{{0, 1, 2, 3, 4}, {5, 6}});
}

TEST_CASE("a unit on the site of one that is not known to have gone is told, and is no swap") {
  const std::vector<Stands> units{
      {at(0, 0), at(300, 4)}, {at(300, 0), std::nullopt}, {at(600, 0), at(602, 0)}, {std::nullopt, at(0, 0)}};
  const Swaps swaps = swapped(units);
  CHECK(swaps.cycles.empty());
  CHECK(swaps.on_site_of[0] == 1);
  CHECK_FALSE(swaps.on_site_of[3]);
}

TEST_CASE("a unit that is nowhere near a site is on nobody's") {
  const Swaps swaps = swapped({{at(0, 0), at(150, 0)}, {at(300, 0), at(300, 0)}});
  CHECK(swaps.cycles.empty());
  CHECK_FALSE(swaps.on_site_of[0]);
}

TEST_CASE("units that stand side by side are not swapped by the metres that GNSS is off") {
  for (const double apart : {0.0, 0.5, 3.0, 8.0, 12.0}) {
    for (const double off : {-7.0, -4.0, 0.0, 4.0, 7.0}) {
      CAPTURE(apart, off);
      CHECK(swapped({{at(0, 0), at(0, off)}, {at(0, apart), at(0, apart - off)}}).cycles.empty());
    }
  }
}

TEST_CASE("two units of one pole that changed places with two of another are swapped, two and two") {
  const std::vector<Stands> units{
      {at(0, 0), at(401, 1)}, {at(0, 0), at(399, 2)}, {at(400, 0), at(1, 1)}, {at(400, 0), at(0, -2)}};
  const Swaps swaps = swapped(units);
  REQUIRE(swaps.cycles.size() == 2);
  CHECK(swaps.cycles[0].size() == 2);
  CHECK(swaps.cycles[1].size() == 2);
}

TEST_CASE("of two units with one site it is the one that has gone that another has changed places with") {
  const std::vector<Stands> units{
      {at(0, 0), at(0, 1)}, {at(0, 0), at(500, 0)}, {at(500, 0), at(1, 0)}, {at(900, 0), at(900, 0)}};
  CHECK(swapped(units).cycles == Cycles{{1, 2}});
}

TEST_CASE("sites on both sides of the 180th meridian, and around a pole, are as near as they are") {
  const std::vector<Stands> meridian{{Point{10, 179.99998}, Point{11, 11}},
                                     {Point{11, 11}, Point{10, -179.99998}}};
  CHECK(swapped(meridian).cycles == Cycles{{0, 1}});
  const std::vector<Stands> pole{{Point{89.99996, 10}, Point{11, 11}},
                                 {Point{11, 11}, Point{89.99996, -170}}};
  CHECK(swapped(pole).cycles == Cycles{{0, 1}});
}

/// Thousands of units over a district, a tenth of them shuffled by chance: the cycles are those of the
/// permutation.
TEST_CASE("ten thousand units take little longer, each, than a thousand, and their cycles are all found") {
  const auto cycles_of = [](const std::vector<std::size_t>& to) {
    Cycles cycles;
    std::vector<bool> been(to.size(), false);
    for (std::size_t start = 0; start < to.size(); ++start) {
      std::vector<std::size_t> cycle;
      for (std::size_t at = start; !been[at]; at = to[at]) {
        been[at] = true;
        cycle.push_back(at);
      }
      if (cycle.size() > 1) cycles.push_back(cycle);
    }
    return cycles;
  };
  std::mt19937_64 dice(10000);
  for (const std::size_t count : {std::size_t{1000}, std::size_t{10000}}) {
    std::vector<std::size_t> to(count);
    for (std::size_t i = 0; i < count; ++i) to[i] = i;
    for (std::size_t i = count / 10; i > 1; --i) std::swap(to[(i - 1) * 10], to[dice() % i * 10]);
    // All in one line of latitude, which is what a sorted list would be slow with.
    const auto site = [&](std::size_t i) { return at(0, static_cast<double>(i) * 60); };
    std::vector<Stands> units;
    for (std::size_t i = 0; i < count; ++i) {
      Point found = site(to[i]);
      found.latitude += static_cast<double>(dice() % 9) / 2e6;
      units.push_back({site(i), found});
    }
    const auto begun = std::chrono::steady_clock::now();
    const Swaps swaps = swapped(units);
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begun;
    CHECK(swaps.cycles == cycles_of(to));
    // A millisecond a unit is a hundred times what it takes.
    CHECK(took.count() < 0.001 * static_cast<double>(count));
  }
}

TEST_CASE("positions that are no numbers lead to nothing") {
  const double none = std::nan("");
  const Swaps swaps =
      swapped({{Point{none, 0}, at(0, 0)}, {at(0, 0), Point{0, none}}, {Point{0, none}, at(0, 0)}});
  CHECK(swaps.cycles.empty());
}

}  // namespace
