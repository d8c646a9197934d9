#include <numeric>
#include <set>

#include "catch.h"
#include "snmp/udp_link.h"

using vergeset::snmp::Endpoint;
using vergeset::snmp::Patience;
using namespace std::chrono_literals;

namespace {

Endpoint asked(int timeout_ms, int retries) {
  Endpoint endpoint;
  endpoint.timeout_ms = timeout_ms;
  endpoint.retries = retries;
  return endpoint;
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
    const Patience patience(endpoint, dice);
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
  const Patience patience(endpoint, dice);
  CHECK(patience.tries(true) == 1);
  CHECK(patience.wait(false, 0) == 1500ms);
  CHECK(patience.wait(true, 0) == 3750ms);
}

TEST_CASE("many tries each wait for something, and no request is waited for after the longest time") {
  std::mt19937 dice(1);
  const Endpoint endpoint = asked(200, 10);
  for (int link = 0; link < 20; ++link) {
    const Patience patience(endpoint, dice);
    for (int attempt = 0; attempt < patience.tries(false); ++attempt) {
      CHECK(patience.wait(false, attempt) >= 160ms);
    }
    CHECK(patience.longest() > all_tries(patience));
  }
}
