#include "snmp/udp_network.h"

#include <sys/resource.h>

#include <algorithm>
#include <random>
#include <utility>

#include "snmp/event_loop.h"
#include "snmp/first_version.h"
#include "snmp/ping.h"
#include "snmp/principal.h"
#include "snmp/route.h"
#include "snmp/udp_link.h"

namespace vergeset::snmp {

class UdpNetwork::Loop {
 public:
  explicit Loop(std::uint32_t seed) : random(seed) {}
  EventLoop events;
  std::mt19937 random;
};

namespace {

/// A link has a socket, and the usual soft limit of 1024 descriptors is there for select(), which
/// nothing here calls: so as many as the system grants.
void allow_many_sockets() {
  constexpr rlim_t enough = 65536;
  rlimit limit{};
  if (getrlimit(RLIMIT_NOFILE, &limit) != 0 || limit.rlim_cur >= enough) return;
  limit.rlim_cur = std::min(limit.rlim_max, enough);
  setrlimit(RLIMIT_NOFILE, &limit);
}

}  // namespace

UdpNetwork::UdpNetwork() : UdpNetwork(std::random_device{}()) {}

UdpNetwork::UdpNetwork(std::uint32_t seed) : loop_(std::make_unique<Loop>(seed)) {
  allow_many_sockets();
}

UdpNetwork::~UdpNetwork() = default;

Task<Opened> UdpNetwork::open(Endpoint endpoint, std::shared_ptr<const Principal> principal) {
  if (!principal)
    co_return Opened{nullptr,
                     {Failure::local, 0, 0, "no keys are stored for it: vergeset rekey gives a unit keys"}};
  const Result<Address> address = resolve(endpoint.host, endpoint.port);
  if (!address) co_return Opened{nullptr, {Failure::local, 0, 0, address.problem()}};
  auto link = std::make_unique<UdpLink>(loop_->events, loop_->random, std::move(endpoint), *address);
  const bool first_version =
      principal->model == Principal::Model::community && principal->version == SNMP_VERSION_1;
  auto error = co_await link->begin(std::move(principal));
  if (error) co_return Opened{nullptr, std::move(*error)};
  if (first_version) co_return Opened{as_later_version(std::move(link)), {}};
  co_return Opened{std::move(link), {}};
}

Way UdpNetwork::way_to(const std::string& host) const {
  return snmp::way_to(host);
}

Task<Echo> UdpNetwork::ping(std::string host, std::chrono::milliseconds patience) {
  const Result<Address> address = resolve(host, 0);
  if (!address) co_return Echo{Echo::Kind::failed, {}, 0, {}, address.problem()};
  Echo echo = co_await snmp::ping(loop_->events, *address, patience);
  co_return echo;
}

Task<Discovered> UdpNetwork::discover(Endpoint endpoint) {
  const Result<Address> address = resolve(endpoint.host, endpoint.port);
  if (!address) co_return Discovered{{}, Error{Failure::local, 0, 0, address.problem()}};
  endpoint.engine.reset();
  UdpLink link(loop_->events, loop_->random, std::move(endpoint), *address);
  auto error = co_await link.begin(nullptr);
  co_return Discovered{link.engine(), std::move(error)};
}

Task<void> UdpNetwork::sleep(std::chrono::milliseconds duration) {
  const auto slot = EventLoop::make_slot();
  slot->sleeping = true;
  co_await loop_->events.wait(slot, std::chrono::steady_clock::now() + duration);
}

std::chrono::milliseconds UdpNetwork::now() const {
  return std::chrono::duration_cast<std::chrono::milliseconds>(
      std::chrono::steady_clock::now().time_since_epoch());
}

void UdpNetwork::run_each(std::size_t count, const std::function<Task<void>(std::size_t)>& begin,
                          std::size_t at_once) {
  loop_->events.run_each(count, begin, at_once);
}

EventLoop& UdpNetwork::loop() {
  return loop_->events;
}

void UdpNetwork::interrupt() noexcept {
  loop_->events.interrupt();
}

bool UdpNetwork::interrupted() const noexcept {
  return loop_->events.interrupted();
}

void UdpNetwork::tick(std::function<void()> told) {
  loop_->events.tick(std::move(told));
}

}  // namespace vergeset::snmp
