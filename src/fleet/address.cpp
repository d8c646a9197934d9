#include "fleet/address.h"

#include <arpa/inet.h>

#include <algorithm>
#include <array>
#include <cctype>

namespace vergeset::fleet {

namespace {

/// fe80::1%eth0: a link-local address with the interface that leads to it (RFC 4007 11).
Result<std::string> ipv6(const std::string& text) {
  const std::size_t percent = text.find('%');
  const std::string zone = percent == std::string::npos ? "" : text.substr(percent);
  in6_addr address{};
  std::array<char, INET6_ADDRSTRLEN> shown{};
  if (zone.size() == 1 || inet_pton(AF_INET6, text.substr(0, percent).c_str(), &address) != 1 ||
      inet_ntop(AF_INET6, &address, shown.data(), shown.size()) == nullptr) {
    return Problem{"expected an IPv6 address, found " + text};
  }
  return shown.data() + zone;
}

bool host_label(const std::string& label) {
  return !label.empty() && label.size() <= 63 && label.front() != '-' && label.back() != '-' &&
         std::all_of(label.begin(), label.end(),
                     [](unsigned char c) { return c < 0x80 && (std::isalnum(c) != 0 || c == '-'); });
}

bool host_name(std::string text) {
  if (text.empty() || text.size() > 253) return false;
  text += '.';
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t dot = text.find('.', from);
    if (!host_label(text.substr(from, dot - from))) return false;
    from = dot + 1;
  }
  return true;
}

}  // namespace

Result<std::string> host_of(const std::string& text) {
  const auto colons = std::count(text.begin(), text.end(), ':');
  if (colons == 1) return Problem{"expected an address alone, found " + text + "; the port goes under port:"};
  if (colons > 1) return ipv6(text);
  if (text.find_first_not_of("0123456789.") == std::string::npos) {
    in_addr address{};
    if (inet_pton(AF_INET, text.c_str(), &address) != 1) {
      return Problem{"expected an IPv4 address, found " + (text.empty() ? "an empty text" : text)};
    }
    return text;
  }
  if (!host_name(text)) return Problem{"expected an address or a host name, found " + text};
  std::string lower = text;
  std::transform(lower.begin(), lower.end(), lower.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return lower;
}

}  // namespace vergeset::fleet
