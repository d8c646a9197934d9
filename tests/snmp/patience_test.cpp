#include <numeric>
#include <set>

#include "catch.h"
#include "snmp/udp_link.h"

using vergeset::snmp::Endpoint;
using vergeset::snmp::Losses;
using vergeset::snmp::Patience;
using namespace std::chrono_literals;

namespace {

const Losses nothing_lost;

Endpoint asked(int timeout_ms, int retries) {
  Endpoint endpoint;
  endpoint.timeout_ms = timeout_ms;
  endpoint.retries = retries;
  return endpoint;
}

/// As where a fifth of the datagrams is lost each way: 64 of 100 tries are answered.
Losses a_fifth_lost() {
  Losses losses;
  for (int i = 0; i < 64; ++i) losses.answered(i < 36 ? 1 : 0);
  return losses;
}

std::chrono::microseconds all_tries(const Patience& patience) {
  std::chrono::microseconds sum{0};
  for (int attempt = 0; attempt < patience.tries(false); ++attempt) sum += patience.wait(false, attempt);
  return sum;
}

}  // namespace

TEST_CASE("links that fell silent together are asked again at times of their own, and given up together") {
  std::mt19937 dice(1);
  const Endpoint endpoint = asked(1000, 3);
  std::set<std::chrono::microseconds> second_tries;
  for (int link = 0; link < 100; ++link) {
    const Patience patience(endpoint, dice, nothing_lost);
    for (int attempt = 0; attempt < 3; ++attempt) {
      CHECK(patience.wait(false, attempt) >= std::chrono::milliseconds(1000) * std::pow(1.5, attempt));
      CHECK(patience.wait(false, attempt) <= std::chrono::milliseconds(1100) * std::pow(1.5, attempt));
    }
    CHECK(patience.wait(false, 3) >= patience.wait(false, 1));
    CHECK(std::abs((all_tries(patience) - 8125ms).count()) < 10);  // 1000 + 1500 + 2250 + 3375
    second_tries.insert(patience.wait(false, 0));
  }
  CHECK(second_tries.size() > 90);
}

TEST_CASE("one try waits as long as was said, and a SET as long as two tries") {
  std::mt19937 dice(1);
  const Endpoint endpoint = asked(1500, 0);
  const Patience patience(endpoint, dice, nothing_lost);
  CHECK(patience.tries(true) == 1);
  CHECK(patience.wait(false, 0) == 1500ms);
  CHECK(patience.wait(true, 0) == 3750ms);
}

TEST_CASE("many tries each wait for something, and no request is waited for after the longest time") {
  std::mt19937 dice(1);
  const Endpoint endpoint = asked(200, 10);
  for (int link = 0; link < 20; ++link) {
    const Patience patience(endpoint, dice, nothing_lost);
    for (int attempt = 0; attempt < patience.tries(false); ++attempt) {
      CHECK(patience.wait(false, attempt) >= 160ms);
    }
    CHECK(patience.longest() > all_tries(patience));
  }
}

TEST_CASE("losses are the tries that went before an answered one, and one mishap says little") {
  Losses losses;
  CHECK(losses.tries() == 1);
  losses.answered(1);
  CHECK(losses.share() < 0.2);
  CHECK(losses.tries() <= 8);
  CHECK(a_fifth_lost().share() > 0.33);
  CHECK(a_fifth_lost().share() < 0.37);
  CHECK(a_fifth_lost().tries() == 14);  // 0.36 to the 14th is 0.6 in a million
  Losses bad;
  for (int i = 0; i < 100; ++i) bad.answered(9);
  CHECK(bad.tries() == Losses::most_tries);
  for (int i = 0; i < 2000; ++i) bad.answered(0);
  CHECK(bad.share() < 0.02);
}

TEST_CASE("a read has more tries where tries are lost, over its own link or all others, and a SET has one") {
  std::mt19937 dice(1);
  const Endpoint endpoint = asked(1000, 3);
  const Losses lossy = a_fifth_lost();
  const Patience good(endpoint, dice, nothing_lost);
  const Patience among(endpoint, dice, lossy);
  Patience own(endpoint, dice, nothing_lost);
  for (int i = 0; i < 64; ++i) own.learn(400ms, i < 36 ? 1 : 0);
  CHECK(good.tries(false) == 4);
  CHECK(among.tries(false) == 14);
  CHECK(own.tries(false) == 14);
  CHECK(own.tries(true) == 1);
  for (int attempt = 4; attempt < 14; ++attempt) {
    CHECK(among.wait(false, attempt) >= 3375ms);  // as the fourth
    CHECK(among.wait(false, attempt) <= 3375ms * 1.1);
  }
  CHECK(among.longest() > all_tries(among));
}
