// A UDP relay for the benchmark and for tests of bad networks: stands on loopback addresses in front of
// units, and between manager and unit makes the weather that relay_queue.h describes. One thread, one loop
// that looks at nothing but what has come or is due, so that it takes little of the machine it shares.
//
//     relay --pairs FILE [options]
//
// --pairs: lines "HOST PORT UNIT-HOST UNIT-PORT": what comes to the first goes to the second, and back to
// whom it came from. Every unit and direction has a line and a queue of its own. Prints a line of counts and
// starts counting anew at SIGUSR1, and prints it when it ends: at SIGTERM, SIGINT, or after --seconds.
//     requests N request-octets N request-drops N answers N answer-octets N answer-drops N span-ms N
// Requests are what came from managers, each datagram counted as it comes in, octets with 28 of IP and UDP
// headers. The span is from the first of them to the last answer that was given to a manager.

#include <arpa/inet.h>
#include <fmt/format.h>
#include <netinet/in.h>
#include <sys/epoll.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/signalfd.h>
#include <sys/socket.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <fstream>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "relay_queue.h"

namespace {

using vergeset::tests::Datagram;
using vergeset::tests::Passed;
using vergeset::tests::RelayQueue;
using vergeset::tests::Weather;
using Time = RelayQueue::Time;

constexpr Time forgotten_after = std::chrono::seconds(60);

Time now() {
  return std::chrono::duration_cast<Time>(std::chrono::steady_clock::now().time_since_epoch());
}

sockaddr_in address_of(const std::string& host, int port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  if (inet_pton(AF_INET, host.c_str(), &address.sin_addr) != 1) {
    throw std::runtime_error(host + " is no IPv4 address");
  }
  return address;
}

class Socket {
 public:
  Socket() : descriptor_(socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0)) {
    if (descriptor_ < 0) throw std::runtime_error(std::string("no socket: ") + std::strerror(errno));
  }
  ~Socket() { close(descriptor_); }
  Socket(const Socket&) = delete;
  Socket& operator=(const Socket&) = delete;
  int descriptor() const { return descriptor_; }

 private:
  int descriptor_;
};

const sockaddr* generic(const sockaddr_in& address) {
  return reinterpret_cast<const sockaddr*>(&address);
}

struct Front;

/// A manager's socket that speaks to a unit through us, and ours that speaks to the unit for it.
struct Conversation {
  Conversation(Front& of, const sockaddr_in& with, std::uint64_t as) : front(of), manager(with), number(as) {}
  Front& front;
  sockaddr_in manager;
  std::uint64_t number;
  Socket back;
  Time used{0};
};

std::uint64_t key_of(const sockaddr_in& manager) {
  return std::uint64_t{manager.sin_addr.s_addr} << 16 | manager.sin_port;
}

/// What stands in front of a unit.
struct Front {
  Front(const Weather& weather, std::mt19937& dice) : to_unit(weather, dice), to_manager(weather, dice) {}
  /// When the next datagram is due, in either direction.
  std::optional<Time> next() const {
    const std::optional<Time> there = to_unit.next();
    const std::optional<Time> back = to_manager.next();
    return there && back ? std::min(*there, *back) : there ? there : back;
  }
  Socket socket;
  sockaddr_in unit{};
  std::map<std::uint64_t, std::unique_ptr<Conversation>> conversations;  ///< by key_of
  RelayQueue to_unit;
  RelayQueue to_manager;
};

class Relay {
 public:
  Relay(const Weather& weather, unsigned seed)
      : weather_(weather), dice_(seed), events_(epoll_create1(EPOLL_CLOEXEC)) {
    if (events_ < 0) throw std::runtime_error(std::string("no epoll: ") + std::strerror(errno));
  }
  ~Relay() { close(events_); }
  Relay(const Relay&) = delete;
  Relay& operator=(const Relay&) = delete;

  void add(const std::string& host, int port, const std::string& unit_host, int unit_port) {
    auto front = std::make_unique<Front>(weather_, dice_);
    const sockaddr_in here = address_of(host, port);
    front->unit = address_of(unit_host, unit_port);
    if (bind(front->socket.descriptor(), generic(here), sizeof here) != 0) {
      throw std::runtime_error("cannot bind " + host + ": " + std::strerror(errno));
    }
    fronts_.push_back(std::move(front));
    watch(fronts_.back()->socket.descriptor(), from_managers(fronts_.size() - 1));
  }

  /// Passes datagrams on until SIGTERM or SIGINT, or the end of the seconds.
  void run(int signals, int seconds) {
    watch(signals, of_signals);
    const Time end = now() + std::chrono::seconds(seconds);
    Time looked = now();
    while (now() < end) {
      const std::vector<std::uint64_t> ready = wait(end);
      for (const std::uint64_t source : ready) {
        if (source == of_signals && ends(signals)) return;
      }
      // Answers first, since requests begin conversations.
      for (const std::uint64_t source : ready) take_answers(source);
      for (const std::uint64_t source : ready) take_requests(source);
      pass_on();
      if (now() - looked < std::chrono::seconds(1)) continue;
      looked = now();
      forget_the_silent();
    }
  }

  std::string counts() {
    Passed requests;
    Passed answers;
    for (auto& front : fronts_) {
      add_to(requests, front->to_unit);
      add_to(answers, front->to_manager);
    }
    const Time span = first_request_ && last_answer_ ? *last_answer_ - *first_request_ : Time(0);
    first_request_.reset();
    last_answer_.reset();
    return fmt::format(
        "requests {} request-octets {} request-drops {} answers {} answer-octets {} answer-drops {} span-ms "
        "{:.1f}",
        requests.datagrams, requests.octets, requests.dropped, answers.datagrams, answers.octets,
        answers.dropped, static_cast<double>(span.count()) / 1000);
  }

 private:
  static void add_to(Passed& sum, RelayQueue& queue) {
    sum.datagrams += queue.passed().datagrams;
    sum.octets += queue.passed().octets;
    sum.dropped += queue.passed().dropped;
    queue.count_anew();
  }

  bool ends(int signals) {
    signalfd_siginfo signal{};
    if (read(signals, &signal, sizeof signal) != sizeof signal) return false;
    if (signal.ssi_signo != SIGUSR1) return true;
    fmt::print("{}\n", counts());
    std::fflush(stdout);
    return false;
  }

  // What an event belongs to: the signals, a front by its place, or a conversation by its number.
  static constexpr std::uint64_t of_signals = 0;
  static constexpr std::uint64_t is_conversation = std::uint64_t{1} << 63;
  static std::uint64_t from_managers(std::size_t front) { return front + 1; }

  void watch(int descriptor, std::uint64_t source) {
    epoll_event event{};
    event.events = EPOLLIN;
    event.data.u64 = source;
    if (epoll_ctl(events_, EPOLL_CTL_ADD, descriptor, &event) != 0) {
      throw std::runtime_error(std::string("cannot watch a socket: ") + std::strerror(errno));
    }
  }

  /// What there is to read, once there is, or something is due.
  std::vector<std::uint64_t> wait(Time end) {
    Time next = end;
    for (const Front* front : under_way_) next = std::min(next, front->next().value_or(end));
    const Time left = std::max(next - now(), Time(0));
    const timespec patience{left.count() / 1000000, left.count() % 1000000 * 1000};
    std::array<epoll_event, 256> room{};
    const int count = epoll_pwait2(events_, room.data(), static_cast<int>(room.size()), &patience, nullptr);
    std::vector<std::uint64_t> ready;
    for (int i = 0; i < count; ++i) ready.push_back(room[static_cast<std::size_t>(i)].data.u64);
    return ready;
  }

  static std::optional<std::string> receive(const Socket& socket, sockaddr_in* from) {
    static std::array<char, 65536> room;
    socklen_t size = sizeof(sockaddr_in);
    const ssize_t got = recvfrom(socket.descriptor(), room.data(), room.size(), 0,
                                 reinterpret_cast<sockaddr*>(from), from != nullptr ? &size : nullptr);
    if (got < 0) return std::nullopt;
    return std::string(room.data(), static_cast<std::size_t>(got));
  }

  Conversation& conversation_of(Front& front, const sockaddr_in& manager) {
    auto& conversation = front.conversations[key_of(manager)];
    if (!conversation) {
      conversation = std::make_unique<Conversation>(front, manager, ++last_conversation_);
      if (connect(conversation->back.descriptor(), generic(front.unit), sizeof front.unit) != 0) {
        throw std::runtime_error(std::string("cannot reach a unit: ") + std::strerror(errno));
      }
      by_number_.emplace(conversation->number, conversation.get());
      watch(conversation->back.descriptor(), is_conversation | conversation->number);
    }
    conversation->used = now();
    return *conversation;
  }

  void take_requests(std::uint64_t source) {
    if (source == of_signals || (source & is_conversation) != 0) return;
    Front& front = *fronts_[source - 1];
    sockaddr_in manager{};
    while (auto octets = receive(front.socket, &manager)) {
      const Time came = conversation_of(front, manager).used;
      if (!first_request_) first_request_ = came;
      front.to_unit.enter(came, {*std::move(octets), key_of(manager)});
      if (front.next()) under_way_.insert(&front);
    }
  }

  void take_answers(std::uint64_t source) {
    if ((source & is_conversation) == 0) return;
    const Conversation& conversation = *by_number_.at(source & ~is_conversation);
    Front& front = conversation.front;
    // A unit that is not there is told by an error, which is taken with this.
    while (auto octets = receive(conversation.back, nullptr)) {
      front.to_manager.enter(now(), {*std::move(octets), key_of(conversation.manager)});
      if (front.next()) under_way_.insert(&front);
    }
  }

  void pass_on() {
    for (Front* front : under_way_) {
      for (const Datagram& one : front->to_unit.leave(now())) {
        const auto found = front->conversations.find(one.of);
        if (found == front->conversations.end()) continue;
        send(found->second->back.descriptor(), one.octets.data(), one.octets.size(), 0);
      }
      for (const Datagram& one : front->to_manager.leave(now())) {
        const auto found = front->conversations.find(one.of);
        if (found == front->conversations.end()) continue;
        last_answer_ = now();
        const sockaddr_in& manager = found->second->manager;
        sendto(front->socket.descriptor(), one.octets.data(), one.octets.size(), 0, generic(manager),
               sizeof manager);
      }
    }
    std::erase_if(under_way_, [](const Front* front) { return !front->next(); });
  }

  void forget_the_silent() {
    const Time before = now() - forgotten_after;
    for (auto& front : fronts_) {
      std::erase_if(front->conversations, [&](const auto& entry) {
        if (entry.second->used >= before) return false;
        by_number_.erase(entry.second->number);
        return true;
      });
    }
  }

  const Weather& weather_;
  std::mt19937 dice_;
  std::vector<std::unique_ptr<Front>> fronts_;
  std::set<Front*> under_way_;  ///< that have a datagram on its way
  std::map<std::uint64_t, Conversation*> by_number_;
  std::uint64_t last_conversation_ = 0;
  int events_;
  std::optional<Time> first_request_;
  std::optional<Time> last_answer_;
};

struct Options {
  std::string pairs;
  double delay_ms = 0;
  double spread_ms = 0;
  double loss = 0;
  double duplicate = 0;
  double reorder = 0;
  double rate = 0;
  std::size_t queue = 100;
  std::size_t largest = 0;
  unsigned seed = 1;
  int seconds = 600;
  std::string ready;
};

Time of_ms(double ms) {
  return Time(static_cast<Time::rep>(ms * 1000));
}

Weather weather_of(const Options& options) {
  Weather weather;
  weather.delay = of_ms(options.delay_ms);
  weather.spread = of_ms(options.spread_ms);
  weather.loss = options.loss / 100;
  weather.duplicate = options.duplicate / 100;
  weather.reorder = options.reorder / 100;
  weather.kbit_per_s = options.rate;
  weather.queue = options.queue;
  weather.largest = options.largest;
  return weather;
}

/// SIGTERM, SIGINT and SIGUSR1 as something to poll.
int take_signals() {
  sigset_t set;
  sigemptyset(&set);
  for (const int signal : {SIGTERM, SIGINT, SIGUSR1}) sigaddset(&set, signal);
  sigprocmask(SIG_BLOCK, &set, nullptr);
  return signalfd(-1, &set, SFD_CLOEXEC);
}

/// A unit and a manager's socket each have a descriptor.
void allow_many_sockets() {
  rlimit limit{};
  if (getrlimit(RLIMIT_NOFILE, &limit) != 0) return;
  limit.rlim_cur = limit.rlim_max;
  setrlimit(RLIMIT_NOFILE, &limit);
}

int relay(const Options& options) {
  prctl(PR_SET_PDEATHSIG, SIGTERM);
  allow_many_sockets();
  const int signals = take_signals();
  const Weather weather = weather_of(options);
  Relay relay(weather, options.seed);
  std::ifstream pairs(options.pairs);
  if (!pairs) throw std::runtime_error("cannot read " + options.pairs);
  std::string host;
  std::string unit_host;
  int port = 0;
  int unit_port = 0;
  while (pairs >> host >> port >> unit_host >> unit_port) relay.add(host, port, unit_host, unit_port);
  if (!options.ready.empty()) std::ofstream(options.ready) << "ready\n";
  relay.run(signals, options.seconds);
  fmt::print("{}\n", relay.counts());
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"Stands between a manager and units on loopback addresses, and makes the network worse."};
  Options options;
  app.add_option("--pairs", options.pairs, "lines: HOST PORT UNIT-HOST UNIT-PORT")->required();
  app.add_option("--delay", options.delay_ms, "each way, in ms");
  app.add_option("--spread", options.spread_ms, "up to so many ms more, at random");
  app.add_option("--loss", options.loss, "each way, in percent");
  app.add_option("--duplicate", options.duplicate, "each way, in percent");
  app.add_option("--reorder", options.reorder, "each way, in percent; such a datagram comes 20 ms later");
  app.add_option("--rate", options.rate, "of each unit and direction, in kbit/s");
  app.add_option("--queue", options.queue, "datagrams that wait for the line (100)");
  app.add_option("--largest", options.largest, "octets of a datagram with its headers; larger ones are lost");
  app.add_option("--seed", options.seed, "of the dice (1)");
  app.add_option("--seconds", options.seconds, "ends by itself after so long (600)");
  app.add_option("--ready", options.ready, "file to write when it listens");
  CLI11_PARSE(app, argc, argv);
  try {
    return relay(options);
  } catch (const std::exception& error) {
    fmt::print(stderr, "relay: {}\n", error.what());
    return 1;
  }
}
