#include "sim/loss.h"

#include <cmath>
#include <string>

#include "catch.h"

using vergeset::sim::Loss;

namespace {

/// 'x' for what is lost; `rounds` requests, each with an answer.
std::string fate(Loss loss, int rounds) {
  std::string told;
  for (int i = 0; i < rounds; ++i) {
    told += loss.takes_request() ? 'x' : '.';
    told += loss.takes_answer() ? 'x' : '.';
  }
  return told;
}

double share(const std::string& told, std::size_t first) {
  int lost = 0;
  for (std::size_t i = first; i < told.size(); i += 2) lost += told[i] == 'x';
  return 200.0 * lost / static_cast<double>(told.size());
}

}  // namespace

TEST_CASE("loss takes the share of requests that was asked for, and the same of answers") {
  for (const double percent : {0.5, 5.0, 30.0, 90.0}) {
    const std::string told = fate(Loss(percent, 1, "LK-101"), 100000);
    // Four standard deviations of a binomial distribution of 100,000 draws.
    const double margin = 4 * 100 * std::sqrt(percent / 100 * (1 - percent / 100) / 100000);
    CHECK(share(told, 0) == Approx(percent).margin(margin));
    CHECK(share(told, 1) == Approx(percent).margin(margin));
  }
}

TEST_CASE("loss of nothing, and loss that nobody asked for, take nothing") {
  CHECK(fate(Loss(0, 1, "LK-101"), 1000).find('x') == std::string::npos);
  CHECK(fate(Loss(), 1000).find('x') == std::string::npos);
}

TEST_CASE("loss is the same again from the same seed and name, and another from any other") {
  const std::string told = fate(Loss(30, 1, "LK-101"), 500);
  CHECK(told == fate(Loss(30, 1, "LK-101"), 500));
  CHECK(told != fate(Loss(30, 2, "LK-101"), 500));
  CHECK(told != fate(Loss(30, 1, "LK-102"), 500));
}

TEST_CASE("what becomes of answers does not hang on how many requests were lost") {
  Loss one(50, 1, "LK-101");
  Loss other(50, 1, "LK-101");
  for (int i = 0; i < 100; ++i) other.takes_request();
  for (int i = 0; i < 100; ++i) CHECK(one.takes_answer() == other.takes_answer());
}
