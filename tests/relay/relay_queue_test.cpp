#include "relay_queue.h"

#include "catch.h"

using namespace vergeset::tests;
using namespace std::chrono_literals;
using Time = RelayQueue::Time;

namespace {

std::vector<std::string> arrived(RelayQueue& queue, Time now) {
  std::vector<std::string> octets;
  for (const Datagram& datagram : queue.leave(now)) octets.push_back(datagram.octets);
  return octets;
}

Datagram of(std::string octets) {
  return {std::move(octets), 0};
}

Datagram sized(std::size_t octets) {
  return of(std::string(octets - RelayQueue::header_octets, 'x'));
}

}  // namespace

TEST_CASE("a datagram arrives after the delay and not before") {
  std::mt19937 dice(1);
  Weather weather;
  weather.delay = 80ms;
  RelayQueue queue(weather, dice);
  queue.enter(10ms, of("one"));
  CHECK(queue.next() == Time(90ms));
  CHECK(arrived(queue, 89ms).empty());
  CHECK(arrived(queue, 90ms) == std::vector<std::string>{"one"});
  CHECK_FALSE(queue.next());
}

TEST_CASE("a line of 64 kbit/s takes an eighth of a second for 1000 octets, one after the other") {
  std::mt19937 dice(1);
  Weather weather;
  weather.kbit_per_s = 64;
  RelayQueue queue(weather, dice);
  queue.enter(0ms, sized(1000));
  queue.enter(0ms, sized(1000));
  CHECK(queue.next() == Time(125ms));
  CHECK(arrived(queue, 125ms).size() == 1);
  CHECK(queue.next() == Time(250ms));
  queue.enter(1000ms, sized(1000));
  CHECK(arrived(queue, 1000ms).size() == 1);
  CHECK(queue.next() == Time(1125ms));
  CHECK(queue.passed().octets == 3000);
}

TEST_CASE("what finds the queue full is dropped, and counted as such") {
  std::mt19937 dice(1);
  Weather weather;
  weather.kbit_per_s = 64;
  weather.queue = 2;
  RelayQueue queue(weather, dice);
  for (int i = 0; i < 5; ++i) queue.enter(0ms, sized(1000));
  CHECK(queue.passed().datagrams == 5);
  CHECK(queue.passed().dropped == 2);
  CHECK(arrived(queue, 10s).size() == 3);
}

TEST_CASE("without a queue a line that is free still takes a datagram") {
  std::mt19937 dice(1);
  Weather weather;
  weather.kbit_per_s = 64;
  weather.queue = 0;
  RelayQueue queue(weather, dice);
  queue.enter(0ms, sized(1000));
  queue.enter(1ms, sized(1000));
  queue.enter(125ms, sized(1000));
  CHECK(arrived(queue, 10s).size() == 2);
}

TEST_CASE("of many datagrams about as many are lost as the weather says, the same ones for one seed") {
  Weather weather;
  weather.loss = 0.2;
  const auto fate = [&](unsigned seed) {
    std::mt19937 dice(seed);
    RelayQueue queue(weather, dice);
    for (int i = 0; i < 1000; ++i) queue.enter(Time(i), of(std::to_string(i)));
    return arrived(queue, 1s);
  };
  const auto one = fate(7);
  CHECK(one.size() > 750);
  CHECK(one.size() < 850);
  CHECK(one == fate(7));
  CHECK(one != fate(8));
}

TEST_CASE("a datagram that is held back is overtaken, and spread alone changes no order") {
  std::mt19937 dice(3);
  Weather weather;
  weather.spread = 30ms;
  RelayQueue spread(weather, dice);
  std::vector<std::string> sent;
  for (int i = 0; i < 100; ++i) {
    sent.push_back(std::to_string(i));
    spread.enter(i * 1ms, of(sent.back()));
  }
  CHECK(arrived(spread, 1s) == sent);

  weather.spread = 0ms;
  weather.reorder = 1;
  RelayQueue held(weather, dice);
  held.enter(0ms, of("first"));
  weather.reorder = 0;
  held.enter(1ms, of("second"));
  CHECK(arrived(held, 1s) == std::vector<std::string>{"second", "first"});
}

TEST_CASE("a duplicate arrives beside its original") {
  std::mt19937 dice(3);
  Weather weather;
  weather.duplicate = 1;
  RelayQueue queue(weather, dice);
  queue.enter(0ms, of("one"));
  CHECK(arrived(queue, 0ms) == std::vector<std::string>{"one", "one"});
  CHECK(queue.passed().datagrams == 1);
}

TEST_CASE("what is larger than the way takes is lost, and nothing else") {
  std::mt19937 dice(1);
  Weather weather;
  weather.largest = 1000;
  RelayQueue queue(weather, dice);
  queue.enter(0ms, sized(1000));
  queue.enter(0ms, sized(1001));
  CHECK(arrived(queue, 0ms).size() == 1);
  CHECK(queue.passed().dropped == 1);
}
