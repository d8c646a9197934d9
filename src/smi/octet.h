#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

namespace vergeset::smi {

/// Octets travel as char, whose sign is the compiler's choice: these two keep it out of the sums.
inline std::uint32_t octet_at(std::string_view octets, std::size_t place) {
  return static_cast<unsigned char>(octets[place]);
}

/// The low eight bits of a number as an octet.
inline char octet(std::int64_t number) {
  return static_cast<char>(static_cast<unsigned char>(number & 0xff));
}

}  // namespace vergeset::smi
