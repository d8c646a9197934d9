#include "snmp/task.h"

#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "catch.h"
#include "snmp/all.h"
#include "snmp/udp_network.h"

using namespace vergeset::snmp;
using namespace std::chrono_literals;

namespace {

Task<int> value(int number) {
  co_return number;
}

Task<int> broken() {
  throw std::runtime_error("broken");
  co_return 0;
}

Task<int> depth(int levels) {
  if (levels == 0) co_return 0;
  co_return 1 + co_await depth(levels - 1);
}

Task<int> sum(int count) {
  int total = 0;
  for (int i = 0; i < count; ++i) total += co_await value(1);
  co_return total;
}

template <class T>
T run_now(Task<T> task) {
  task.start();
  REQUIRE(task.done());
  return task.take();
}

Task<int> after(Network& network, std::chrono::milliseconds pause, int number) {
  co_await network.sleep(pause);
  if (number < 0) throw std::runtime_error("negative");
  co_return number;
}

std::vector<Task<void>> one(Task<void> task) {
  std::vector<Task<void>> tasks;
  tasks.push_back(std::move(task));
  return tasks;
}

}  // namespace

TEST_CASE("a task does not start before it is awaited") {
  bool ran = false;
  const auto body = [&ran]() -> Task<void> {
    ran = true;
    co_return;
  };
  Task<void> task = body();
  CHECK_FALSE(ran);
  task.start();
  CHECK(ran);
  CHECK(task.done());
}

TEST_CASE("a task yields its value to its awaiter, one that cannot be copied too") {
  CHECK(run_now(value(7)) == 7);
  const auto outer = []() -> Task<std::unique_ptr<int>> {
    const auto inner = []() -> Task<std::unique_ptr<int>> { co_return std::make_unique<int>(5); };
    co_return co_await inner();
  };
  CHECK(*run_now(outer()) == 5);
}

TEST_CASE("an exception of a task reaches its awaiter, which can go on") {
  const auto outer = []() -> Task<std::string> {
    try {
      co_await broken();
    } catch (const std::runtime_error& error) {
      co_return error.what();
    }
    co_return "nothing";
  };
  CHECK(run_now(outer()) == "broken");
  Task<int> task = broken();
  task.start();
  CHECK_THROWS_AS(task.take(), std::runtime_error);
}

TEST_CASE("a task that was never awaited is destroyed with what it holds") {
  const auto held = std::make_shared<int>(1);
  const auto body = [](std::shared_ptr<int> kept) -> Task<int> { co_return *kept; };
  {
    const Task<int> task = body(held);
    CHECK(held.use_count() == 2);
  }
  CHECK(held.use_count() == 1);
}

TEST_CASE("a deep chain and a long row of awaits come back") {
#if defined(__SANITIZE_ADDRESS__) || !defined(__OPTIMIZE__)
  const int many = 1000;  // GCC makes no tail call of a transfer then, so each takes stack
#else
  const int many = 100'000;
#endif
  CHECK(run_now(depth(many)) == many);
  CHECK(run_now(sum(many)) == many);
}

TEST_CASE("all yields the results in the order of its tasks, not of their ends") {
  UdpNetwork network;
  std::vector<int> results;
  const auto body = [&]() -> Task<void> {
    std::vector<Task<int>> tasks;
    tasks.push_back(after(network, 30ms, 1));
    tasks.push_back(value(2));
    tasks.push_back(after(network, 10ms, 3));
    results = co_await all(std::move(tasks));
  };
  const auto before = network.now();
  network.run(one(body()), 1);
  CHECK(results == std::vector{1, 2, 3});
  CHECK(network.now() - before < 39ms + 100ms);  // side by side
}

TEST_CASE("all of nothing, and of tasks that end at once, goes on at once") {
  CHECK(run_now(all(std::vector<Task<int>>())).empty());
  std::vector<Task<int>> tasks;
  tasks.push_back(value(1));
  tasks.push_back(value(2));
  CHECK(run_now(all(std::move(tasks))) == std::vector{1, 2});
}

TEST_CASE("all waits for every task before it throws the first exception") {
  UdpNetwork network;
  bool late_one_ended = false;
  std::string caught;
  const auto late = [&]() -> Task<int> {
    co_await network.sleep(20ms);
    late_one_ended = true;
    co_return 1;
  };
  const auto body = [&]() -> Task<void> {
    std::vector<Task<int>> tasks;
    tasks.push_back(after(network, 1ms, -1));
    tasks.push_back(late());
    try {
      co_await all(std::move(tasks));
    } catch (const std::runtime_error& error) {
      caught = error.what();
    }
  };
  network.run(one(body()), 1);
  CHECK(late_one_ended);
  CHECK(caught == "negative");
}
