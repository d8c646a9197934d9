#include <arpa/inet.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "smi/codecs.h"
#include "smi/octet.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

const std::string& mapped_prefix() {  // RFC 4291 2.5.5.2
  static const std::string prefix = std::string(10, '\0') + "\xff\xff";
  return prefix;
}

bool mapped(std::string_view sixteen) {
  return sixteen.starts_with(mapped_prefix());
}

/// The octets of an address text of one family, nothing where it is none.
std::optional<std::string> parsed(int family, std::size_t size, std::string_view text) {
  constexpr std::size_t longest = INET6_ADDRSTRLEN;
  if (text.size() > longest || text.find('\0') != std::string_view::npos) return std::nullopt;
  std::string octets(size, '\0');
  if (inet_pton(family, std::string(text).c_str(), octets.data()) != 1) return std::nullopt;
  return octets;
}

std::optional<std::string> parsed_ipv4(std::string_view text) {
  return parsed(AF_INET, 4, text);
}
std::optional<std::string> parsed_ipv6(std::string_view text) {
  return parsed(AF_INET6, 16, text);
}

std::string dotted(std::string_view four) {
  return fmt::format("{}.{}.{}.{}", octet_at(four, 0), octet_at(four, 1), octet_at(four, 2),
                     octet_at(four, 3));
}

/// Where the longest run of two or more zero groups starts and how long it is; the first of equals
/// (RFC 5952 4.2).
std::pair<std::size_t, std::size_t> zero_run(const std::array<std::uint32_t, 8>& groups) {
  std::pair<std::size_t, std::size_t> best{groups.size(), 1};
  for (std::size_t start = 0; start < groups.size(); ++start) {
    std::size_t length = 0;
    while (start + length < groups.size() && groups[start + length] == 0) ++length;
    if (length > best.second) best = {start, length};
  }
  return best;
}

/// The spelling of RFC 5952, which inet_ntop keeps only in part: it shows ::1:2 as ::0.1.0.2.
std::string ipv6_text(std::string_view sixteen) {
  if (mapped(sixteen)) return "::ffff:" + dotted(sixteen.substr(12));
  std::array<std::uint32_t, 8> groups{};
  for (std::size_t at = 0; at < groups.size(); ++at)
    groups[at] = octet_at(sixteen, 2 * at) << 8 | octet_at(sixteen, 2 * at + 1);
  const auto [run, length] = zero_run(groups);
  std::string text;
  for (std::size_t at = 0; at < groups.size(); ++at) {
    if (at == run) {
      text += "::";
      at += length - 1;
    } else {
      text += fmt::format("{}{:x}", text.empty() || text.ends_with(':') ? "" : ":", groups[at]);
    }
  }
  return text;
}

Problem no_address(std::string_view word) {
  return {fmt::format("expected an IPv4 or IPv6 address (no host name, no zone), found {}", shown(word))};
}

}  // namespace

std::optional<std::string> parsed_address(std::string_view text) {
  const std::string_view plain = without_trailing(text, '\0');
  if (const auto four = parsed_ipv4(plain)) return mapped_prefix() + *four;
  return parsed_ipv6(plain);
}

std::optional<std::string> canonical_address(std::string_view text) {
  const std::string_view plain = without_trailing(text, '\0');
  if (const auto four = parsed_ipv4(plain)) return dotted(*four);
  if (const auto sixteen = parsed_ipv6(plain)) return ipv6_text(*sixteen);
  return std::nullopt;
}

std::optional<std::string> address_octets_text(std::string_view octets) {
  if (octets.size() != 16) return std::nullopt;
  return mapped(octets) ? dotted(octets.substr(12)) : ipv6_text(octets);
}

std::optional<std::string> ipv4_text(std::string_view octets) {
  if (octets.size() != 4) return std::nullopt;
  return dotted(octets);
}

Result<std::string> address_text_octets(std::string_view word) {
  auto text = canonical_address(word);
  if (!text) return no_address(word);
  return *std::move(text);
}

Result<std::string> address_octets_of(std::string_view word) {
  auto octets = parsed_address(word);
  if (!octets) return no_address(word);
  return *std::move(octets);
}

Result<std::string> ipv4_octets(std::string_view word) {
  auto octets = parsed_ipv4(word);
  if (!octets) return Problem{fmt::format("expected an IPv4 address, found {}", shown(word))};
  return *std::move(octets);
}

Result<std::string> mac_octets(std::string_view word) {
  auto octets = from_hex(word);
  if (!octets || octets->size() != 6)
    return Problem{fmt::format("expected a MAC address such as 02:00:5e:10:00:01, found {}", shown(word))};
  return octets;
}

std::string mac_text(std::string_view octets) {
  std::string text;
  for (std::size_t at = 0; at < octets.size(); ++at)
    text += (at == 0 ? "" : ":") + to_hex(octets.substr(at, 1));
  return text;
}

}  // namespace vergeset::smi
