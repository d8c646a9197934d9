#include "snmp/udp_port.h"

#include <netdb.h>
#include <netinet/in.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <system_error>
#include <utility>

namespace vergeset::snmp {

namespace {

constexpr std::size_t at_a_time = 32;
constexpr int wanted_room = 4 << 20;  ///< the system grants less: net.core.rmem_max
constexpr int last_privileged = 1023;

void allow(int socket, int level, int option, int value = 1) {
  ::setsockopt(socket, level, option, &value, sizeof value);
}

int port_of(const sockaddr_storage& address) {
  if (address.ss_family == AF_INET) {
    sockaddr_in in{};
    std::memcpy(&in, &address, sizeof in);
    return ntohs(in.sin_port);
  }
  sockaddr_in6 in{};
  std::memcpy(&in, &address, sizeof in);
  return ntohs(in.sin6_port);
}

}  // namespace

std::string cannot_listen(const Address& address, const std::string& option) {
  const int why = errno;
  std::string text = "cannot listen on " + address.text + ": " + std::generic_category().message(why);
  if (why == EACCES && port_of(address.socket) <= last_privileged) {
    text += "; a port below 1024 takes the capability CAP_NET_BIND_SERVICE: grant it, or give another with " +
            option + " and set notify-port to it";
  } else if (why == EADDRINUSE) {
    text += "; another program has this port: end it, or give another with " + option;
  } else if (why == EADDRNOTAVAIL) {
    text += "; this machine has no such address";
  }
  return text;
}

std::string bound_name(int socket) {
  sockaddr_storage own{};
  socklen_t size = sizeof own;
  std::array<char, NI_MAXHOST> host{};
  if (::getsockname(socket, reinterpret_cast<sockaddr*>(&own), &size) != 0) return {};
  ::getnameinfo(reinterpret_cast<const sockaddr*>(&own), size, host.data(), host.size(), nullptr, 0,
                NI_NUMERICHOST);
  const std::string text = own.ss_family == AF_INET6 ? "[" + std::string(host.data()) + "]" : host.data();
  return text + ":" + std::to_string(port_of(own));
}

std::string sixteen_octets(const sockaddr_storage& address) {
  if (address.ss_family == AF_INET6) {
    sockaddr_in6 in{};
    std::memcpy(&in, &address, sizeof in);
    return {reinterpret_cast<const char*>(&in.sin6_addr), sizeof in.sin6_addr};
  }
  if (address.ss_family != AF_INET) return {};
  sockaddr_in in{};
  std::memcpy(&in, &address, sizeof in);
  return std::string(10, '\0') + "\xff\xff" +
         std::string(reinterpret_cast<const char*>(&in.sin_addr), sizeof in.sin_addr);
}

UdpPort::UdpPort(EventLoop& loop, int socket) : loop_(loop), socket_(socket), room_(at_a_time * most_octets) {
  loop_.watch(socket_, [this] { readable(); });
}

UdpPort::~UdpPort() {
  loop_.unwatch(socket_);
  ::close(socket_);
}

Result<std::unique_ptr<UdpPort>> UdpPort::open(EventLoop& loop, const Address& address,
                                               const std::string& option,
                                               std::function<void(UdpPort&, const Came&)> came,
                                               std::function<void()> turn) {
  const int family = address.socket.ss_family;
  const int socket = ::socket(family, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
  if (socket < 0) return Problem{cannot_listen(address, option)};
  if (family == AF_INET6) {
    allow(socket, IPPROTO_IPV6, IPV6_V6ONLY);
    allow(socket, IPPROTO_IPV6, IPV6_RECVPKTINFO);
  } else {
    allow(socket, IPPROTO_IP, IP_PKTINFO);
  }
  allow(socket, SOL_SOCKET, SO_RXQ_OVFL);
  allow(socket, SOL_SOCKET, SO_RCVBUF, wanted_room);
  if (::bind(socket, reinterpret_cast<const sockaddr*>(&address.socket), address.size) != 0) {
    std::string why = cannot_listen(address, option);
    ::close(socket);
    return Problem{std::move(why)};
  }
  auto port = std::unique_ptr<UdpPort>(new UdpPort(loop, socket));
  port->came_ = std::move(came);
  port->turn_ = std::move(turn);
  return port;
}

std::string UdpPort::name() const {
  return bound_name(socket_);
}

/// What the system says beside a datagram: our address, which goes back with the answer, and what was lost.
void UdpPort::note(msghdr& head, Way& way) {
  for (cmsghdr* one = CMSG_FIRSTHDR(&head); one != nullptr; one = CMSG_NXTHDR(&head, one)) {
    if (one->cmsg_level == SOL_SOCKET && one->cmsg_type == SO_RXQ_OVFL) {
      std::uint32_t count = 0;
      std::memcpy(&count, CMSG_DATA(one), sizeof count);
      // It counts on from where it was, in 32 bits.
      lost_ += static_cast<std::uint32_t>(count - static_cast<std::uint32_t>(lost_));
      continue;
    }
    const bool fourth = one->cmsg_level == IPPROTO_IP && one->cmsg_type == IP_PKTINFO;
    const bool sixth = one->cmsg_level == IPPROTO_IPV6 && one->cmsg_type == IPV6_PKTINFO;
    if (!fourth && !sixth) continue;
    const std::size_t size = fourth ? CMSG_SPACE(sizeof(in_pktinfo)) : CMSG_SPACE(sizeof(in6_pktinfo));
    if (size > way.local.size()) continue;
    std::memcpy(way.local.data(), one, std::min<std::size_t>(one->cmsg_len, size));
    way.local_size = size;
    if (fourth) {
      // An answer goes by the system's routes, from the address alone: ipi_spec_dst, which the system filled.
      in_pktinfo info{};
      std::memcpy(&info, CMSG_DATA(one), sizeof info);
      info.ipi_ifindex = 0;
      std::memcpy(way.local.data() + (reinterpret_cast<char*>(CMSG_DATA(one)) - reinterpret_cast<char*>(one)),
                  &info, sizeof info);
    }
  }
}

void UdpPort::readable() {
  std::array<mmsghdr, at_a_time> heads{};
  std::array<iovec, at_a_time> parts{};
  std::array<Way, at_a_time> ways{};
  alignas(cmsghdr) std::array<std::array<char, 128>, at_a_time> controls{};
  for (std::size_t i = 0; i < at_a_time; ++i) {
    parts[i] = {room_.data() + i * most_octets, most_octets};
    msghdr& head = heads[i].msg_hdr;
    head.msg_name = &ways[i].peer;
    head.msg_namelen = sizeof ways[i].peer;
    head.msg_iov = &parts[i];
    head.msg_iovlen = 1;
    head.msg_control = controls[i].data();
    head.msg_controllen = controls[i].size();
  }
  const int count = ::recvmmsg(socket_, heads.data(), at_a_time, 0, nullptr);
  if (count <= 0) return;
  for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) {
    msghdr& head = heads[i].msg_hdr;
    ways[i].peer_size = head.msg_namelen;
    note(head, ways[i]);
    came_(*this, {{room_.data() + i * most_octets, heads[i].msg_len},
                  (head.msg_flags & MSG_TRUNC) != 0,
                  sixteen_octets(ways[i].peer),
                  ways[i]});
  }
  turn_();
}

void UdpPort::send(const Way& way, std::string_view octets) {
  Way copy = way;
  iovec part{const_cast<char*>(octets.data()), octets.size()};
  msghdr head{};
  head.msg_name = &copy.peer;
  head.msg_namelen = copy.peer_size;
  head.msg_iov = &part;
  head.msg_iovlen = 1;
  if (copy.local_size > 0) {
    head.msg_control = copy.local.data();
    head.msg_controllen = copy.local_size;
  }
  [[maybe_unused]] const ssize_t sent = ::sendmsg(socket_, &head, MSG_NOSIGNAL | MSG_DONTWAIT);
}

}  // namespace vergeset::snmp
