#pragma once

#include <sys/socket.h>

#include <array>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "smi/result.h"
#include "snmp/address.h"
#include "snmp/event_loop.h"

namespace vergeset::snmp {

/// A port that anyone may send datagrams to. Reads them 32 at a time, at most so many a turn of the loop, so
/// that a flood keeps nothing else from its turn; of each at most 16 KB. What the system had no room for is
/// counted.
class UdpPort {
 public:
  static constexpr std::size_t most_octets = 16384;

  /// Where an answer goes: back from the address that was sent to (a host may have many).
  struct Way {
    sockaddr_storage peer{};
    socklen_t peer_size = 0;
    std::array<char, 64> local{};  ///< the control message that names our address
    std::size_t local_size = 0;
  };
  struct Came {
    std::string_view octets;
    bool cut = false;  ///< it had more
    std::string from;  ///< 16 octets, an IPv4 address mapped (RFC 4291 2.5.5.2)
    Way way;
  };

  /// Binds to the address. `came` is called for each datagram, `turn` after the last of a turn. A problem
  /// says why it could not, and what to do; `option` is the one that gives the port.
  static Result<std::unique_ptr<UdpPort>> open(EventLoop& loop, const Address& address,
                                               const std::string& option,
                                               std::function<void(UdpPort&, const Came&)> came,
                                               std::function<void()> turn);
  ~UdpPort();
  UdpPort(const UdpPort&) = delete;
  UdpPort& operator=(const UdpPort&) = delete;

  /// Where it cannot be sent it is lost, as a datagram may be.
  void send(const Way& way, std::string_view octets);
  /// "192.0.2.1:162", with the port that the system chose where 0 was asked for.
  std::string name() const;
  /// Datagrams that the system dropped since they came faster than they were read.
  std::uint64_t lost() const { return lost_; }

 private:
  UdpPort(EventLoop& loop, int socket);
  void readable();
  void note(msghdr& head, Way& way);

  EventLoop& loop_;
  int socket_;
  std::function<void(UdpPort&, const Came&)> came_;
  std::function<void()> turn_;
  std::vector<char> room_;
  std::uint64_t lost_ = 0;
};

/// Why `errno` says that nothing can listen there, and what to do.
std::string cannot_listen(const Address& address, const std::string& option);

/// "192.0.2.1:162" of a socket that is bound; empty where it is not.
std::string bound_name(int socket);

/// 16 octets of a socket's address, an IPv4 address mapped; empty for another family.
std::string sixteen_octets(const sockaddr_storage& address);

}  // namespace vergeset::snmp
