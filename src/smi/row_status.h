#pragma once

#include <cstdint>

/// The values of RowStatus (RFC 2579).
namespace vergeset::smi::row_status {

constexpr std::int64_t active = 1;
constexpr std::int64_t not_in_service = 2;
constexpr std::int64_t not_ready = 3;
constexpr std::int64_t create_and_go = 4;
constexpr std::int64_t create_and_wait = 5;
constexpr std::int64_t destroy = 6;

}  // namespace vergeset::smi::row_status
