#include "fleet/subnet.h"

#include <arpa/inet.h>
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <span>

namespace vergeset::fleet {

namespace {

std::size_t size_of(const HostAddress& address) {
  return address.v6 ? 16 : 4;
}

/// The bits of one octet that belong to the first `prefix` bits of an address.
std::uint8_t mask_of(std::size_t octet, int prefix) {
  const int bits = std::clamp(prefix - static_cast<int>(octet) * 8, 0, 8);
  return static_cast<std::uint8_t>(0xff00 >> bits);
}

HostAddress base_of(const HostAddress& address, int prefix) {
  HostAddress base = address;
  for (std::size_t i = 0; i < base.octets.size(); ++i) {
    base.octets[i] = static_cast<std::uint8_t>(base.octets[i] & mask_of(i, prefix));
  }
  return base;
}

HostAddress last_of(const Subnet& subnet) {
  HostAddress last = subnet.base;
  for (std::uint8_t& octet : std::span(last.octets).first(size_of(last))) {
    const auto at = static_cast<std::size_t>(&octet - last.octets.data());
    octet = static_cast<std::uint8_t>(octet | static_cast<std::uint8_t>(~mask_of(at, subnet.prefix)));
  }
  return last;
}

}  // namespace

bool Subnet::holds(const HostAddress& address) const {
  return address.v6 == base.v6 && base_of(address, prefix) == base;
}

bool Subnet::is_reserved(const HostAddress& address) const {
  if (base.v6 || address.v6 || prefix >= 31) return false;
  return address == base || address == last_of(*this);
}

Result<HostAddress> parse_host_address(std::string_view text) {
  HostAddress address;
  const std::string word(text);
  const bool whole = word.find('\0') == std::string::npos;
  if (whole && inet_pton(AF_INET, word.c_str(), address.octets.data()) == 1) return address;
  address.v6 = true;
  if (whole && inet_pton(AF_INET6, word.c_str(), address.octets.data()) == 1) return address;
  return Problem{"expected an address as in 192.0.2.1 or 2001:db8::1, found " + word};
}

Result<Subnet> parse_subnet(std::string_view text) {
  const Problem problem{fmt::format("expected a subnet as in 192.0.2.0/24, found {}", text)};
  const auto slash = text.find('/');
  if (slash == std::string_view::npos) return problem;
  const auto address = parse_host_address(text.substr(0, slash));
  if (!address) return problem;
  const std::string_view digits = text.substr(slash + 1);
  int prefix = -1;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), prefix);
  const int most = address->v6 ? 128 : 32;
  if (error != std::errc() || end != digits.data() + digits.size() || prefix < 0 || prefix > most) {
    return problem;
  }
  const Subnet subnet{base_of(*address, prefix), prefix};
  if (!(subnet.base == *address)) {
    return Problem{
        fmt::format("{} names a host in its subnet; let what is behind {} bits be zero", text, prefix)};
  }
  return subnet;
}

}  // namespace vergeset::fleet
