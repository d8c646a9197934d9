#include "fleet/part.h"

#include <fmt/format.h>

#include <bit>

#include "smi/words.h"

namespace vergeset::fleet {

namespace {

struct SipState {
  std::uint64_t v0, v1, v2, v3;

  void round() {
    v0 += v1;
    v2 += v3;
    v1 = std::rotl(v1, 13) ^ v0;
    v3 = std::rotl(v3, 16) ^ v2;
    v0 = std::rotl(v0, 32);
    v2 += v1;
    v0 += v3;
    v1 = std::rotl(v1, 17) ^ v2;
    v3 = std::rotl(v3, 21) ^ v0;
    v2 = std::rotl(v2, 32);
  }
  void take(std::uint64_t word) {
    v3 ^= word;
    round();
    round();
    v0 ^= word;
  }
};

/// Up to eight octets as a little-endian number, whatever the machine's own order.
std::uint64_t little_endian(std::string_view octets) {
  std::uint64_t word = 0;
  for (std::size_t i = octets.size(); i-- > 0;) word = word << 8 | static_cast<unsigned char>(octets[i]);
  return word;
}

}  // namespace

std::uint64_t sip_hash(std::uint64_t k0, std::uint64_t k1, std::string_view octets) {
  SipState state{k0 ^ 0x736f6d6570736575U, k1 ^ 0x646f72616e646f6dU, k0 ^ 0x6c7967656e657261U,
                 k1 ^ 0x7465646279746573U};
  const std::uint64_t size = octets.size();
  for (; octets.size() >= 8; octets.remove_prefix(8)) state.take(little_endian(octets.substr(0, 8)));
  state.take(size << 56 | little_endian(octets));
  state.v2 ^= 0xff;
  for (int i = 0; i < 4; ++i) state.round();
  return state.v0 ^ state.v1 ^ state.v2 ^ state.v3;
}

std::uint32_t part_of(std::string_view unit, std::uint32_t parts) {
  std::uint32_t best = 1;
  std::uint64_t greatest = sip_hash(1, 0, unit);
  for (std::uint32_t part = 2; part <= parts; ++part) {
    const std::uint64_t weight = sip_hash(part, 0, unit);
    if (weight <= greatest) continue;
    best = part;
    greatest = weight;
  }
  return best;
}

Result<Part> part_named(const std::string& text) {
  const auto slash = text.find('/');
  const auto number = smi::unsigned_number(text.substr(0, slash));
  const auto of = slash == std::string::npos ? std::nullopt : smi::unsigned_number(text.substr(slash + 1));
  if (!number || !of) {
    return Problem{"expected a part and the number of parts, as in 2/4, found " + smi::shown(text)};
  }
  if (*of < 1 || *of > most_parts) {
    return Problem{fmt::format("expected 1 to {} parts, found {}", most_parts, smi::shown(text))};
  }
  if (*number < 1 || *number > *of) {
    return Problem{fmt::format("expected a part from 1 to {}, found {}", *of, smi::shown(text))};
  }
  return Part{static_cast<std::uint32_t>(*number), static_cast<std::uint32_t>(*of)};
}

}  // namespace vergeset::fleet
