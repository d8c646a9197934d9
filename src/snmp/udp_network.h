#pragma once

#include <memory>

#include "snmp/approach.h"
#include "snmp/network.h"

namespace vergeset::snmp {

class EventLoop;

/// The real network: UDP over one epoll loop, the protocol by net-snmp's single-session API. One
/// thread of the process, since net-snmp's tables are the process's. Reads no configuration of
/// net-snmp's, loads no MIB, writes no state. Its links must be gone before it goes.
///
/// - Sockets are connected: a closed port is told (`unreachable`) where the system learns of it, and
///   an answer from another address than was asked is not taken.
/// - A host name is looked up by the system's resolver, which holds up all tasks while it waits.
/// - A SET waits two and a half times Endpoint::timeout_ms. After `no_answer` it may have been carried
///   out. One that was refused as outside the time window was not (RFC 3414 3.2.7) and is sent once
///   more, after the clock was set; otherwise exactly one datagram leaves for a SET.
/// - An agent may drop what it cannot decrypt without a word. Where a link's reads were never answered,
///   the unit's uptime is asked for in the clear: an answer means `wrong_privacy`.
class UdpNetwork : public Network, public Approach {
 public:
  UdpNetwork();
  /// With a seed of one's own for the jitter of retries.
  explicit UdpNetwork(std::uint32_t seed);
  ~UdpNetwork() override;
  UdpNetwork(const UdpNetwork&) = delete;
  UdpNetwork& operator=(const UdpNetwork&) = delete;

  Task<Opened> open(Endpoint endpoint, std::shared_ptr<const Principal> principal) override;
  Way way_to(const std::string& host) const override;
  Task<Echo> ping(std::string host, std::chrono::milliseconds patience) override;
  Task<Discovered> discover(Endpoint endpoint) override;
  Task<void> sleep(std::chrono::milliseconds duration) override;
  std::chrono::milliseconds now() const override;

  /// Of `at_once`, fewer run while answers are lost, and others run while some wait for a unit that is
  /// silent: see pace.h.
  void run_each(std::size_t count, const std::function<Task<void>(std::size_t)>& begin,
                std::size_t at_once) override;

  /// The loop that all of it runs on, for what listens beside (udp_port.h).
  EventLoop& loop();

  /// For a signal handler: makes interrupted() true and ends the sleeps of the moment early. Nothing
  /// else ends: tasks ask interrupted() between their steps, and run() returns when they are done.
  void interrupt() noexcept;
  bool interrupted() const noexcept;

  /// Called a few times a second while tasks run. May be empty.
  void tick(std::function<void()> told);

 private:
  class Loop;
  std::unique_ptr<Loop> loop_;
};

}  // namespace vergeset::snmp
