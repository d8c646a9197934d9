#include <fmt/format.h>

#include <array>

#include "smi/codecs.h"
#include "smi/octet.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

/// One length of the P-encoding (IEEE 1609.3): the high bits of the first octet tell the length, the
/// rest count from where the shorter length ends.
struct Length {
  std::uint32_t first;  ///< the smallest PSID of this length
  std::uint32_t last;
  std::uint32_t mark;  ///< the high bits of the first octet
  std::uint32_t mask;  ///< which bits those are
};

constexpr std::array<Length, 4> lengths{{
    {0x0, 0x7f, 0x00, 0x80},
    {0x80, 0x407f, 0x80, 0xc0},
    {0x4080, 0x20407f, 0xc0, 0xe0},
    {0x204080, 0x1020407f, 0xe0, 0xf0},
}};

Problem no_psid(std::string_view word) {
  return {fmt::format("expected a PSID such as 0x82, 130 or p8002 (P-encoded), found {}", shown(word))};
}

}  // namespace

Result<std::string> p_encode(std::uint32_t psid) {
  for (std::size_t size = 1; size <= lengths.size(); ++size) {
    const Length& length = lengths[size - 1];
    if (psid > length.last) continue;
    std::uint32_t number = psid - length.first;
    std::string octets(size, '\0');
    for (std::size_t at = size; at-- > 0; number >>= 8) octets[at] = octet(number);
    octets[0] = octet(octet_at(octets, 0) | length.mark);
    return octets;
  }
  return Problem{fmt::format("expected a PSID of at most {:#x}, found {:#x}", lengths.back().last, psid)};
}

Result<std::uint32_t> p_decode(std::string_view octets) {
  for (std::size_t size = 1; size <= lengths.size(); ++size) {
    const Length& length = lengths[size - 1];
    if (octets.empty() || (octet_at(octets, 0) & length.mask) != length.mark) continue;
    if (octets.size() != size)
      return Problem{fmt::format("the first octet of a P-encoded PSID announces {} octets, found {}", size,
                                 octets.size())};
    std::uint32_t number = octet_at(octets, 0) & ~length.mask & 0xff;
    for (std::size_t at = 1; at < size; ++at) number = number << 8 | octet_at(octets, at);
    return number + length.first;
  }
  return Problem{fmt::format("expected a P-encoded PSID of 1 to 4 octets, found {}",
                             octets.empty() ? "nothing" : to_hex(octets.substr(0, 8)))};
}

Result<std::string> psid_octets(std::string_view word) {
  if (!word.empty() && (word.front() == 'p' || word.front() == 'P')) {
    auto octets = from_hex(word.substr(1));
    if (!octets) return no_psid(word);
    if (const auto psid = p_decode(*octets); !psid)
      return Problem{fmt::format("{} is no P-encoded PSID: {}", shown(word), psid.problem())};
    return octets;
  }
  const auto psid = whole_number(word);
  if (!psid) return no_psid(word);
  if (*psid < 0 || *psid > lengths.back().last)
    return Problem{
        fmt::format("expected a PSID from 0 to {:#x}, found {}", lengths.back().last, shown(word))};
  return p_encode(static_cast<std::uint32_t>(*psid));
}

std::string psid_text(std::string_view octets) {
  const auto psid = p_decode(octets);
  return psid ? fmt::format("{:#x}", *psid) : "p" + to_hex(octets);
}

}  // namespace vergeset::smi
