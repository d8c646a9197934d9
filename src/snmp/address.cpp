#include "snmp/address.h"

#include <netdb.h>

#include <array>
#include <cstring>
#include <memory>

namespace vergeset::snmp {

namespace {

using Found = std::unique_ptr<addrinfo, decltype(&freeaddrinfo)>;

Found look_up(const std::string& host, const std::string& port, int flags, int& error) {
  addrinfo hints{};
  hints.ai_family = AF_UNSPEC;
  hints.ai_socktype = SOCK_DGRAM;
  hints.ai_flags = flags | AI_NUMERICSERV;
  addrinfo* found = nullptr;
  error = getaddrinfo(host.c_str(), port.c_str(), &hints, &found);
  return {error == 0 ? found : nullptr, &freeaddrinfo};
}

std::string numeric(const addrinfo& found) {
  std::array<char, NI_MAXHOST> host{};
  getnameinfo(found.ai_addr, found.ai_addrlen, host.data(), host.size(), nullptr, 0, NI_NUMERICHOST);
  return host.data();
}

}  // namespace

Result<Address> resolve(const std::string& host, std::uint16_t port) {
  const bool bracketed = host.size() > 2 && host.front() == '[' && host.back() == ']';
  const std::string bare = bracketed ? host.substr(1, host.size() - 2) : host;
  const std::string service = std::to_string(port);
  int error = 0;
  Found found = look_up(bare, service, AI_NUMERICHOST, error);
  if (!found && !bare.empty()) found = look_up(bare, service, AI_ADDRCONFIG, error);
  if (!found) return Problem{"cannot find the address of '" + host + "': " + gai_strerror(error)};

  Address address;
  std::memcpy(&address.socket, found->ai_addr, found->ai_addrlen);
  address.size = found->ai_addrlen;
  const bool v6 = found->ai_family == AF_INET6;
  address.text = (v6 ? "[" + numeric(*found) + "]" : numeric(*found)) + ":" + service;
  address.library = (v6 ? "udp6:" : "udp:") + address.text;
  return address;
}

}  // namespace vergeset::snmp
