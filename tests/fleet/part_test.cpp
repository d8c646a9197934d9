#include "fleet/part.h"

#include <cmath>
#include <set>

#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

std::vector<std::string> many_names() {
  std::vector<std::string> names;
  for (int i = 0; i < 10000; ++i) names.push_back("LK-" + std::to_string(10000 + i));
  return names;
}

std::string octets_up_to(int size) {
  std::string octets;
  for (int i = 0; i < size; ++i) octets += static_cast<char>(i);
  return octets;
}

/// The key of the published vectors: 00 01 .. 0f.
std::uint64_t hashed(const std::string& octets) {
  return sip_hash(0x0706050403020100U, 0x0f0e0d0c0b0a0908U, octets);
}

std::string problem(const std::string& text) {
  const auto part = part_named(text);
  return part ? "none" : part.problem();
}

}  // namespace

TEST_CASE("SipHash-2-4 gives its published values") {
  // The paper's appendix A, 15 octets.
  CHECK(hashed(octets_up_to(15)) == 0xa129ca6149be45e5U);
  // vectors.h of the reference implementation (github.com/veorq/SipHash), octets as little-endian numbers;
  // OpenSSL 3.0's `openssl mac ... SIPHASH` gives the same.
  CHECK(hashed("") == 0x726fdb47dd0e0e31U);
  CHECK(hashed(octets_up_to(1)) == 0x74f839c593dc67fdU);
  CHECK(hashed(octets_up_to(8)) == 0x93f5f5799a932462U);
}

TEST_CASE("every unit is in one part, and its part is that part on every machine and in every version") {
  // Worked out by OpenSSL 3.0's SIPHASH: the part whose number is the key of the greatest hash of the name.
  const std::map<std::string, std::vector<std::uint32_t>> known = {
      {"LK-101", {1, 2, 2, 2, 7}}, {"LK-102", {1, 2, 3, 3, 3}}, {"LK-103", {1, 2, 2, 2, 8}},
      {"LK-104", {1, 2, 2, 5, 5}}, {"WR-1", {1, 1, 1, 1, 1}},   {"unit", {1, 2, 3, 3, 3}}};
  const std::vector<std::uint32_t> parts = {1, 2, 4, 5, 8};
  for (const auto& [name, expected] : known) {
    for (std::size_t i = 0; i < parts.size(); ++i) {
      INFO(name << " of " << parts[i]);
      CHECK(part_of(name, parts[i]) == expected[i]);
    }
  }
}

TEST_CASE("a part more takes its share from the others and moves no unit between them") {
  const std::vector<std::string> names = many_names();
  for (std::uint32_t parts = 1; parts <= 16; ++parts) {
    std::size_t moved = 0;
    std::size_t astray = 0;
    for (const std::string& name : names) {
      const std::uint32_t before = part_of(name, parts);
      const std::uint32_t after = part_of(name, parts + 1);
      if (after != before) ++moved;
      if (after != before && after != parts + 1) ++astray;
    }
    INFO("from " << parts);
    CHECK(astray == 0);
    const double share = 1.0 / (parts + 1);
    const double expected = share * static_cast<double>(names.size());
    CHECK(std::abs(static_cast<double>(moved) - expected) < 5 * std::sqrt(expected * (1 - share)));
  }
}

TEST_CASE("parts are as even as chance makes them") {
  // Five standard deviations of a binomial distribution: by chance alone one part in three million is further
  // off. The names and the hash are fixed, so this holds or fails for good.
  const std::vector<std::string> names = many_names();
  for (const std::uint32_t parts : {2U, 3U, 4U, 7U, 50U}) {
    std::vector<double> sizes(parts);
    for (const std::string& name : names) sizes.at(part_of(name, parts) - 1) += 1;
    const double share = 1.0 / parts;
    const double expected = share * static_cast<double>(names.size());
    for (const double size : sizes) {
      INFO(size << " in one of " << parts);
      CHECK(std::abs(size - expected) < 5 * std::sqrt(expected * (1 - share)));
    }
  }
}

TEST_CASE("a part is named by its number and how many there are") {
  REQUIRE(part_named("2/4"));
  CHECK(*part_named("2/4") == Part{2, 4});
  CHECK(*part_named("1/1") == Part{1, 1});
  CHECK(*part_named("1000/1000") == Part{1000, 1000});
}

TEST_CASE("a part that cannot be is told with what was expected") {
  CHECK(problem("0/4") == "expected a part from 1 to 4, found 0/4");
  CHECK(problem("5/4") == "expected a part from 1 to 4, found 5/4");
  CHECK(problem("1/0") == "expected 1 to 1000 parts, found 1/0");
  CHECK(problem("1/1001") == "expected 1 to 1000 parts, found 1/1001");
  for (const char* text :
       {"x", "", "2", "2/", "/4", "2/4/8", "-1/4", "1/4x", "1 / x", "1/99999999999999999999"}) {
    CHECK_THAT(problem(text), Catch::Contains("as in 2/4, found "));
  }
}

TEST_CASE("the parts of a choice are together the choice, and no unit is in two") {
  const Tree tree({{"fleet.yaml", least_fleet},
                   {"units.yaml",
                    "units:\n"
                    "  LK-101: {address: 127.0.0.1, model: rsu-4.1}\n"
                    "  LK-102: {address: 127.0.0.2, model: rsu-4.1}\n"
                    "  LK-103: {address: 127.0.0.3, model: rsu-4.1}\n"
                    "  WR-1: {address: 127.0.0.4, model: rsu-4.1}\n"}});
  std::set<std::string> seen;
  std::size_t count = 0;
  for (int part = 1; part <= 9; ++part) {
    const auto units = choose(tree.fleet, {{"LK-*"}, {}, {}, {}, std::to_string(part) + "/9"});
    REQUIRE(units);  // some of nine parts of three units are empty, which is no problem
    for (const Unit* unit : *units) seen.insert(unit->name);
    count += units->size();
  }
  CHECK(count == 3);
  CHECK(seen == std::set<std::string>{"LK-101", "LK-102", "LK-103"});
}

TEST_CASE("a choice by a part that cannot be is a problem that names the option") {
  const Tree tree({{"fleet.yaml", least_fleet}, {"units.yaml", two_units}});
  const auto units = choose(tree.fleet, {{}, {}, {}, {}, "5/4"});
  REQUIRE_FALSE(units);
  CHECK(units.problem() == "--part: expected a part from 1 to 4, found 5/4");
}
