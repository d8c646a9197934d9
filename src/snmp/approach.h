#pragma once

#include <chrono>
#include <string>
#include <vector>

#include "snmp/network.h"

namespace vergeset::snmp {

/// An address of this machine's own.
struct OwnAddress {
  std::string interface;
  std::string address;
  int prefix = 0;      ///< bits of the mask that are ones: 24 for 255.255.255.0
  std::string subnet;  ///< "10.77.1.0/24"
  bool up = true;      ///< someone has switched the interface on
  bool loopback = false;
  bool link_local = false;  ///< of IPv6: leads nowhere beyond its cable
  bool holds = false;       ///< the address asked about is on this subnet
};

/// Which way this machine would send to a unit.
struct Way {
  enum class Kind {
    attached,  ///< straight on an interface
    by_router,
    here,  ///< the address is this machine's own
    none,
    not_told,  ///< the system does not say
  };
  std::string address;  ///< numeric; empty where the name has none
  bool v6 = false;
  std::string fault;  ///< why no unit can be there: no such name, a multicast address, ...
  Kind kind = Kind::not_told;
  std::string interface;
  bool link = true;    ///< the interface has a link: a cable with something at its other end
  std::string from;    ///< the own address that it would send from
  std::string subnet;  ///< attached: the interface's own that holds the address; empty where a route says so
  std::string router;
  std::string why;  ///< none, not_told: the system's word
  std::vector<OwnAddress> own;
};

/// What became of an ICMP echo request.
struct Echo {
  enum class Kind {
    answered,
    silent,
    forbidden,    ///< this system lets this user send none (net.ipv4.ping_group_range)
    unreachable,  ///< someone on the way says so
    failed,       ///< it could not be sent
  };
  Kind kind = Kind::silent;
  std::chrono::microseconds round_trip{0};
  int tries = 0;
  std::string from;  ///< unreachable: who says so, which is this machine where a neighbour does not answer
  std::string why;   ///< unreachable, failed: the system's word
};

/// An engine that answered, or why none did.
struct Discovered {
  Engine engine;
  std::optional<Error> error;
};

/// The seam between getting at a unit and speaking to it as someone: what can be learned of the way to it
/// without any credential, and without any privilege on this machine. udp_network.h has the real one.
class Approach {
 public:
  virtual ~Approach() = default;
  /// As the system's tables say; sends nothing, but may wait for the system's resolver.
  virtual Way way_to(const std::string& host) const = 0;
  /// Up to three echo requests.
  virtual Task<Echo> ping(std::string host, std::chrono::milliseconds patience) = 0;
  /// RFC 3414 section 4, first step.
  virtual Task<Discovered> discover(Endpoint endpoint) = 0;
};

}  // namespace vergeset::snmp
