#include <csignal>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "catch.h"
#include "snmp/udp_network.h"

using namespace vergeset::snmp;
using namespace std::chrono_literals;

namespace {

std::vector<Task<void>> tasks_of(int count, const std::function<Task<void>(int)>& make) {
  std::vector<Task<void>> tasks;
  for (int i = 0; i < count; ++i) tasks.push_back(make(i));
  return tasks;
}

UdpNetwork* interrupted_network = nullptr;

}  // namespace

TEST_CASE("sleep waits as long as it was asked to") {
  UdpNetwork network;
  std::chrono::milliseconds slept{};
  network.run(tasks_of(1,
                       [&](int) -> Task<void> {
                         const auto before = network.now();
                         co_await network.sleep(30ms);
                         slept = network.now() - before;
                       }),
              1);
  CHECK(slept >= 30ms);
  CHECK(slept < 500ms);
}

TEST_CASE("tasks start in their order and no more than allowed run at once") {
  UdpNetwork network;
  std::vector<int> started;
  int live = 0;
  int most = 0;
  const auto make = [&](int i) -> Task<void> {
    started.push_back(i);
    most = std::max(most, ++live);
    if (i % 3 != 0) co_await network.sleep(std::chrono::milliseconds(5 - i % 5));
    --live;
  };
  network.run(tasks_of(50, make), 7);
  CHECK(most == 7);
  CHECK(live == 0);
  REQUIRE(started.size() == 50);
  CHECK(std::is_sorted(started.begin(), started.end()));
}

TEST_CASE("run with no tasks returns at once") {
  UdpNetwork network;
  network.run({}, 4);
  SUCCEED("returned");
}

TEST_CASE("an exception of one task ends the others at their wait and is thrown by run") {
  UdpNetwork network;
  const auto held = std::make_shared<int>(0);
  bool went_on = false;
  const auto make = [&](int i) -> Task<void> {
    const auto kept = held;
    co_await network.sleep(i == 3 ? 5ms : 10s);
    if (i == 3) throw std::runtime_error("the disk is full");
    went_on = true;
  };
  const auto before = network.now();
  CHECK_THROWS_WITH(network.run(tasks_of(6, make), 4), "the disk is full");
  CHECK(network.now() - before < 2s);
  CHECK_FALSE(went_on);
  CHECK(held.use_count() == 1);

  // The network is as good as before.
  int ended = 0;
  const auto short_one = [&](int) -> Task<void> {
    co_await network.sleep(1ms);
    ++ended;
  };
  network.run(tasks_of(3, short_one), 2);
  CHECK(ended == 3);
}

TEST_CASE("an interrupt from a signal handler ends the sleeps of the moment and no later ones") {
  UdpNetwork network;
  interrupted_network = &network;
  const auto previous = std::signal(SIGUSR1, [](int) { interrupted_network->interrupt(); });
  std::chrono::milliseconds first{};
  std::chrono::milliseconds second{};
  const auto make = [&](int i) -> Task<void> {
    if (i == 1) {
      co_await network.sleep(20ms);
      std::raise(SIGUSR1);
      co_return;
    }
    const auto before = network.now();
    co_await network.sleep(20s);
    first = network.now() - before;
    co_await network.sleep(30ms);
    second = network.now() - before - first;
  };
  CHECK_FALSE(network.interrupted());
  network.run(tasks_of(2, make), 2);
  std::signal(SIGUSR1, previous);
  CHECK(network.interrupted());
  CHECK(first < 5s);
  CHECK(second >= 30ms);
}

TEST_CASE("a thousand sleepers are woken in the order of their moments") {
  UdpNetwork network;
  std::vector<int> order;
  const auto make = [&](int i) -> Task<void> {
    co_await network.sleep(std::chrono::milliseconds(10 + 20 * (i % 3)));
    order.push_back(i % 3);
  };
  network.run(tasks_of(1000, make), 1000);
  CHECK(order.size() == 1000);
  CHECK(std::is_sorted(order.begin(), order.end()));
}
