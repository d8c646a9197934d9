#pragma once

#include <atomic>
#include <chrono>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

#include "support/snmpd.h"

namespace vergeset::tests {

/// A network between a manager and an agent: passes datagrams on, counts them, and loses or delays
/// the ones that it is told to. Runs in a thread of its own.
class Relay {
 public:
  struct Fate {
    bool lost = false;
    std::chrono::milliseconds delay{0};
    std::size_t agent = 0;  ///< of a request: which of the agents gets it
  };
  /// What happens to the n-th datagram of a direction, counted from 0.
  using Rule = std::function<Fate(int n)>;

  explicit Relay(std::vector<const Snmpd*> agents, Rule requests = {}, Rule responses = {})
      : agents_(std::move(agents)), front_("127.0.0.1"), rules_{std::move(requests), std::move(responses)} {
    thread_ = std::thread([this] { run(); });
  }
  ~Relay() {
    ending_ = true;
    thread_.join();
  }
  Relay(const Relay&) = delete;
  Relay& operator=(const Relay&) = delete;

  std::uint16_t port() const { return front_.port(); }
  int requests() const { return counts_[0]; }
  int responses() const { return counts_[1]; }

  /// Counts from 0 again, under other rules.
  void rule(Rule requests, Rule responses) {
    const std::lock_guard lock(mutex_);
    rules_[0] = std::move(requests);
    rules_[1] = std::move(responses);
    counts_[0] = counts_[1] = 0;
  }

 private:
  struct Held {
    std::chrono::steady_clock::time_point due;
    std::string octets;
  };

  void run() {
    while (!ending_) {
      std::array<pollfd, 2> sockets = {pollfd{front_.descriptor(), POLLIN, 0},
                                       pollfd{back_.descriptor(), POLLIN, 0}};
      poll(sockets.data(), sockets.size(), 2);
      if (sockets[0].revents & POLLIN) pass_request();
      if (sockets[1].revents & POLLIN) pass_response();
      while (!held_.empty() && held_.front().due <= std::chrono::steady_clock::now()) {
        send(front_, held_.front().octets, manager_);
        held_.pop_front();
      }
    }
  }

  Fate fate(std::size_t direction) {
    const std::lock_guard lock(mutex_);
    const int n = counts_[direction]++;
    return rules_[direction] ? rules_[direction](n) : Fate{};
  }

  void pass_request() {
    const std::string octets = receive(front_, &manager_);
    const Fate next = fate(0);
    const Snmpd& agent = *agents_.at(next.agent);
    if (!next.lost) send(back_, octets, UdpSocket::address_of(agent.host(), agent.port()));
  }

  void pass_response() {
    const std::string octets = receive(back_, nullptr);
    const Fate next = fate(1);
    if (!next.lost) held_.push_back({std::chrono::steady_clock::now() + next.delay, octets});
  }

  static std::string receive(const UdpSocket& socket, sockaddr_in* from) {
    std::string octets(65535, '\0');
    socklen_t size = sizeof(sockaddr_in);
    const auto got = recvfrom(socket.descriptor(), octets.data(), octets.size(), 0,
                              reinterpret_cast<sockaddr*>(from), from != nullptr ? &size : nullptr);
    octets.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
    return octets;
  }

  static void send(const UdpSocket& socket, const std::string& octets, const sockaddr_in& to) {
    sendto(socket.descriptor(), octets.data(), octets.size(), 0, reinterpret_cast<const sockaddr*>(&to),
           sizeof to);
  }

  std::vector<const Snmpd*> agents_;
  UdpSocket front_;
  UdpSocket back_{"127.0.0.1"};
  sockaddr_in manager_{};
  std::deque<Held> held_;
  std::mutex mutex_;
  std::array<Rule, 2> rules_;
  std::array<std::atomic<int>, 2> counts_{};
  std::atomic<bool> ending_ = false;
  std::thread thread_;
};

}  // namespace vergeset::tests
