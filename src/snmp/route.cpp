#include "snmp/route.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <linux/rtnetlink.h>
#include <net/if.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <memory>
#include <system_error>

namespace vergeset::snmp {

namespace {

/// An address as octets, 4 or 16 of them.
struct Ip {
  int family = AF_INET;
  std::size_t size = 4;
  std::array<unsigned char, 16> octets{};
  unsigned zone = 0;  ///< index of the interface, of link-local addresses of IPv6

  bool v6() const { return family == AF_INET6; }
};

std::optional<Ip> ip_of(const sockaddr* socket) {
  Ip ip;
  if (socket == nullptr) return std::nullopt;
  if (socket->sa_family == AF_INET) {
    sockaddr_in in{};
    std::memcpy(&in, socket, sizeof in);
    std::memcpy(ip.octets.data(), &in.sin_addr, 4);
    return ip;
  }
  if (socket->sa_family != AF_INET6) return std::nullopt;
  sockaddr_in6 in{};
  std::memcpy(&in, socket, sizeof in);
  ip.family = AF_INET6;
  ip.size = 16;
  std::memcpy(ip.octets.data(), &in.sin6_addr, 16);
  ip.zone = in.sin6_scope_id;
  return ip;
}

std::string text_of(const Ip& ip) {
  std::array<char, INET6_ADDRSTRLEN> text{};
  inet_ntop(ip.family, ip.octets.data(), text.data(), text.size());
  std::array<char, IF_NAMESIZE> zone{};
  if (ip.zone != 0 && if_indextoname(ip.zone, zone.data()) != nullptr) {
    return std::string(text.data()) + "%" + zone.data();
  }
  return text.data();
}

Ip masked(Ip ip, int prefix, unsigned char host_bits = 0) {
  ip.zone = 0;
  for (std::size_t i = 0; i < ip.size; ++i) {
    const int ones = std::clamp(prefix - static_cast<int>(8 * i), 0, 8);
    const auto mask = static_cast<unsigned char>(0xff00U >> static_cast<unsigned>(ones) & 0xffU);
    ip.octets[i] = static_cast<unsigned char>((ip.octets[i] & mask) | (host_bits & ~mask));
  }
  return ip;
}

int prefix_of(const sockaddr* mask) {
  const std::optional<Ip> ip = ip_of(mask);
  int ones = 0;
  if (!ip) return ones;
  for (std::size_t i = 0; i < ip->size; ++i) ones += __builtin_popcount(ip->octets[i]);
  return ones;
}

/// fe80::/10 (RFC 4291 2.5.6).
bool is_link_local(const Ip& ip) {
  return ip.v6() && ip.octets[0] == 0xfe && (ip.octets[1] & 0xc0U) == 0x80U;
}

bool same_subnet(const Ip& a, const Ip& b, int prefix) {
  return a.family == b.family && masked(a, prefix).octets == masked(b, prefix).octets;
}

struct Interfaces {
  Interfaces() {
    ifaddrs* all = nullptr;
    if (getifaddrs(&all) == 0) list.reset(all);
  }
  std::unique_ptr<ifaddrs, decltype(&freeifaddrs)> list{nullptr, &freeifaddrs};

  bool has_link(const std::string& name) const {
    for (const ifaddrs* one = list.get(); one != nullptr; one = one->ifa_next) {
      if (name == one->ifa_name) return (one->ifa_flags & IFF_RUNNING) != 0;
    }
    return true;
  }
  std::vector<OwnAddress> addresses(const Ip& target) const {
    std::vector<OwnAddress> own;
    for (const ifaddrs* one = list.get(); one != nullptr; one = one->ifa_next) {
      const std::optional<Ip> ip = ip_of(one->ifa_addr);
      if (!ip || ip->family != target.family) continue;
      const int prefix = prefix_of(one->ifa_netmask);
      const bool of_its_zone = target.zone == 0 || ip->zone == target.zone;
      OwnAddress address;
      address.interface = one->ifa_name;
      address.address = text_of(*ip);
      address.prefix = prefix;
      address.subnet = text_of(masked(*ip, prefix)) + "/" + std::to_string(prefix);
      address.up = (one->ifa_flags & IFF_UP) != 0;
      address.loopback = (one->ifa_flags & IFF_LOOPBACK) != 0;
      address.link_local = is_link_local(*ip);
      address.holds = of_its_zone && same_subnet(*ip, target, prefix);
      own.push_back(std::move(address));
    }
    return own;
  }
};

/// The first and the last address of a subnet of ours that has more than two (RFC 1122 3.2.1.3, RFC 3021).
std::optional<std::string> not_a_host(const Ip& ip, const std::vector<OwnAddress>& own) {
  constexpr int longest = 30;
  if (ip.v6()) return std::nullopt;
  for (const OwnAddress& one : own) {
    if (!one.holds || one.prefix > longest) continue;
    const std::string of = " of the subnet " + one.subnet + " that " + one.interface + " is on";
    if (masked(ip, one.prefix).octets == ip.octets) return text_of(ip) + " is the network address" + of;
    if (masked(ip, one.prefix, 0xff).octets == ip.octets) {
      return text_of(ip) + " is the broadcast address" + of;
    }
  }
  return std::nullopt;
}

struct Question {
  nlmsghdr header{};
  rtmsg route{};
  std::array<char, 64> attributes{};

  void add(unsigned short type, const void* octets, std::size_t size) {
    rtattr attribute{};
    attribute.rta_type = type;
    attribute.rta_len = static_cast<unsigned short>(RTA_LENGTH(size));
    char* const at = attributes.data() + (header.nlmsg_len - NLMSG_LENGTH(sizeof route));
    std::memcpy(at, &attribute, sizeof attribute);
    std::memcpy(at + RTA_LENGTH(0), octets, size);
    header.nlmsg_len += static_cast<std::uint32_t>(RTA_SPACE(size));
  }
};

Question question_of(const Ip& ip) {
  Question question;
  question.header.nlmsg_len = NLMSG_LENGTH(sizeof question.route);
  question.header.nlmsg_type = RTM_GETROUTE;
  question.header.nlmsg_flags = NLM_F_REQUEST;
  question.route.rtm_family = static_cast<unsigned char>(ip.family);
  question.route.rtm_dst_len = static_cast<unsigned char>(8 * ip.size);
  question.add(RTA_DST, ip.octets.data(), ip.size);
  if (ip.zone != 0) question.add(RTA_OIF, &ip.zone, sizeof ip.zone);
  return question;
}

/// What the kernel answered; errno where it could not be asked.
struct Said {
  std::string octets;
  int error = 0;
};

Said ask_kernel(const Question& question) {
  const int socket = ::socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, NETLINK_ROUTE);
  if (socket < 0) return {{}, errno};
  // It answers before send() returns; this is for a kernel that never does.
  const timeval patience{1, 0};
  setsockopt(socket, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  Said said;
  std::string room(8192, '\0');
  const bool sent = send(socket, &question, question.header.nlmsg_len, 0) >= 0;
  const ssize_t got = sent ? recv(socket, room.data(), room.size(), 0) : -1;
  if (got < 0) said.error = errno;
  close(socket);
  room.resize(static_cast<std::size_t>(std::max<ssize_t>(got, 0)));
  said.octets = std::move(room);
  return said;
}

std::string system_text(int error) {
  return std::generic_category().message(error);
}

void take_attribute(const rtattr& attribute, const char* octets, Way& way) {
  const std::size_t size = attribute.rta_len - RTA_LENGTH(0);
  const auto address = [&](std::size_t from) {
    Ip ip;
    ip.size = size - from;
    if (ip.size != 4 && ip.size != 16) return std::string();
    ip.family = ip.size == 4 ? AF_INET : AF_INET6;
    std::memcpy(ip.octets.data(), octets + from, ip.size);
    return text_of(ip);
  };
  if (attribute.rta_type == RTA_OIF && size == sizeof(unsigned)) {
    unsigned index = 0;
    std::memcpy(&index, octets, sizeof index);
    std::array<char, IF_NAMESIZE> name{};
    if (if_indextoname(index, name.data()) != nullptr) way.interface = name.data();
  } else if (attribute.rta_type == RTA_GATEWAY) {
    way.router = address(0);
  } else if (attribute.rta_type == RTA_VIA) {
    way.router = address(sizeof(rtvia));  // of the other family
  } else if (attribute.rta_type == RTA_PREFSRC) {
    way.from = address(0);
  }
}

void take_route(const std::string& octets, Way& way) {
  rtmsg route{};
  std::memcpy(&route, octets.data() + NLMSG_HDRLEN, sizeof route);
  std::size_t at = NLMSG_LENGTH(sizeof route);
  while (at + RTA_LENGTH(0) <= octets.size()) {
    rtattr attribute{};
    std::memcpy(&attribute, octets.data() + at, sizeof attribute);
    if (attribute.rta_len < RTA_LENGTH(0) || at + attribute.rta_len > octets.size()) break;
    take_attribute(attribute, octets.data() + at + RTA_LENGTH(0), way);
    at += RTA_ALIGN(attribute.rta_len);
  }
  switch (route.rtm_type) {
    case RTN_LOCAL:
      way.kind = Way::Kind::here;
      break;
    case RTN_UNICAST:
      way.kind = way.router.empty() ? Way::Kind::attached : Way::Kind::by_router;
      break;
    case RTN_BROADCAST:
    case RTN_MULTICAST:
    case RTN_ANYCAST:
      way.fault = way.address + " is no single unit's address: this machine would send to many";
      break;
    default:  // unreachable, prohibited, dropped
      way.kind = Way::Kind::none;
      way.why = system_text(ENETUNREACH);
  }
}

void ask_route(const Ip& ip, Way& way) {
  const Said said = ask_kernel(question_of(ip));
  nlmsghdr header{};
  if (said.octets.size() < NLMSG_LENGTH(sizeof(nlmsgerr))) {
    way.why = system_text(said.error != 0 ? said.error : EBADMSG);
    return;
  }
  std::memcpy(&header, said.octets.data(), sizeof header);
  if (header.nlmsg_type == NLMSG_ERROR) {
    nlmsgerr error{};
    std::memcpy(&error, said.octets.data() + NLMSG_HDRLEN, sizeof error);
    const int number = -error.error;
    // Of a route that drops or prohibits (EINVAL, EACCES) the kernel says no more.
    const bool none = number == ENETUNREACH || number == EHOSTUNREACH || number == EACCES ||
                      number == EINVAL || number == ENETDOWN;
    way.kind = none ? Way::Kind::none : Way::Kind::not_told;
    way.why = system_text(number);
  } else if (header.nlmsg_type == RTM_NEWROUTE) {
    take_route(said.octets, way);
  } else {
    way.why = system_text(EBADMSG);
  }
}

}  // namespace

std::optional<std::string> never_a_unit(const Address& address) {
  const std::optional<Ip> ip = ip_of(reinterpret_cast<const sockaddr*>(&address.socket));
  if (!ip) return "it is neither an IPv4 nor an IPv6 address";
  const auto& octets = ip->octets;
  const auto all = [&](unsigned char octet) {
    return std::all_of(octets.begin(), octets.begin() + static_cast<std::ptrdiff_t>(ip->size),
                       [octet](unsigned char one) { return one == octet; });
  };
  const std::string text = text_of(*ip);
  if (all(0))
    return text + " stands for no address at all" + (ip->v6() ? " (RFC 4291 2.5.2)" : " (RFC 1122 3.2.1.3)");
  if (ip->v6()) {
    if (octets[0] == 0xff) return text + " is a multicast address (RFC 4291 2.7)";
    if (is_link_local(*ip) && ip->zone == 0) {
      return text + " is a link-local address, which says nothing without its interface, as in " + text +
             "%eth0 (RFC 4007 11)";
    }
    return std::nullopt;
  }
  if (all(0xff)) return text + " is the broadcast address (RFC 919)";
  if (octets[0] == 0) return text + " is on \"this network\", where no unit is (RFC 1122 3.2.1.3)";
  if (octets[0] >= 240) return text + " is of a reserved range (RFC 1112 4)";
  if (octets[0] >= 224) return text + " is a multicast address (RFC 1112 4)";
  return std::nullopt;
}

Way way_to(const std::string& host) {
  Way way;
  const Result<Address> address = resolve(host, 0);
  if (!address) {
    way.fault = address.problem();
    return way;
  }
  const Ip ip = *ip_of(reinterpret_cast<const sockaddr*>(&address->socket));
  way.address = text_of(ip);
  way.v6 = ip.v6();
  if (const auto why = never_a_unit(*address)) {
    way.fault = *why;
    return way;
  }
  const Interfaces interfaces;
  way.own = interfaces.addresses(ip);
  if (const auto why = not_a_host(ip, way.own)) {
    way.fault = *why;
    return way;
  }
  ask_route(ip, way);
  way.link = interfaces.has_link(way.interface);
  if (way.kind == Way::Kind::attached) {
    for (const OwnAddress& one : way.own) {
      if (one.holds && one.interface == way.interface) way.subnet = one.subnet;
    }
  }
  return way;
}

}  // namespace vergeset::snmp
