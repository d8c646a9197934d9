#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <random>
#include <string>
#include <vector>

namespace vergeset::tests {

/// What a network does to the datagrams of one unit in one direction.
struct Weather {
  std::chrono::microseconds delay{0};
  std::chrono::microseconds spread{0};  ///< up to so much later, at random; spread alone changes no order
  double loss = 0;                      ///< of 1: is lost
  double duplicate = 0;                 ///< of 1: arrives twice
  double reorder = 0;                   ///< of 1: is held back by `held_back`, and overtaken by later ones
  std::chrono::microseconds held_back{20000};
  double kbit_per_s = 0;    ///< 0: any number
  std::size_t largest = 0;  ///< octets with headers: a larger one is lost, as where fragments are; 0: any
  std::size_t queue = 100;  ///< datagrams that wait for the line; one more is dropped (tail drop)
};

struct Datagram {
  std::string octets;
  std::uint64_t of = 0;  ///< whose it is, for whoever drives the queue
  bool operator==(const Datagram&) const = default;
};

struct Passed {
  std::uint64_t datagrams = 0;  ///< that came in
  std::uint64_t octets = 0;     ///< of them, IP and UDP headers included
  std::uint64_t dropped = 0;    ///< of them: lost, or no room in the queue
};

/// One direction of the line to one unit, in whatever time it is told: a line of some rate with a queue in
/// front of it, then the way with its delay and its mishaps. The same datagrams at the same times with the
/// same dice fare the same.
class RelayQueue {
 public:
  using Time = std::chrono::microseconds;

  /// Of IPv4 without options (RFC 791 3.1) and UDP (RFC 768).
  static constexpr std::size_t header_octets = 28;

  RelayQueue(const Weather& weather, std::mt19937& dice) : weather_(weather), dice_(dice) {}

  void enter(Time now, Datagram datagram);

  /// The datagrams that have arrived by now and were not taken yet, in the order of their arrival.
  std::vector<Datagram> leave(Time now);

  /// When the next one arrives.
  std::optional<Time> next() const;

  const Passed& passed() const { return passed_; }
  void count_anew() { passed_ = {}; }

 private:
  struct OnItsWay {
    Time due;
    Datagram datagram;
  };

  bool happens(double chance);
  std::size_t waiting(Time now);
  void send_off(Time due, Datagram datagram);

  const Weather& weather_;
  std::mt19937& dice_;
  std::vector<Time> on_the_line_;  ///< when each that waits for the line, or is on it, is through
  std::vector<OnItsWay> on_its_way_;
  Time last_due_{0};  ///< of those that keep their order
  Passed passed_;
};

}  // namespace vergeset::tests
