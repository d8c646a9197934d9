#include <fmt/format.h>

#include "smi/codecs.h"
#include "smi/octet.h"
#include "smi/words.h"

namespace vergeset::smi {

Result<std::string> hex_octets(std::string_view word) {
  const auto digits = behind_0x(word);
  auto octets = from_hex(digits ? *digits : word);
  if (!octets)
    return Problem{fmt::format("expected octets in hex such as 0a1b or 0x0a1b: {}", octets.problem())};
  return octets;
}

std::optional<std::string> nvt_fault(std::string_view octets) {
  for (std::size_t at = 0; at < octets.size(); ++at) {
    if (octet_at(octets, at) > 127)
      return fmt::format("octet {} is {:#04x}, which is not ASCII", at + 1, octet_at(octets, at));
    // RFC 2579, DisplayString: CR before anything but LF or NUL is illegal
    const bool lone_cr =
        octets[at] == '\r' && at + 1 < octets.size() && octets[at + 1] != '\n' && octets[at + 1] != '\0';
    if (lone_cr) return fmt::format("octet {} is a CR without LF or NUL behind it", at + 1);
  }
  return std::nullopt;
}

}  // namespace vergeset::smi
