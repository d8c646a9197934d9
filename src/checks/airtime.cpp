#include "checks/airtime.h"

namespace vergeset::checks {

namespace {

/// X.696 8.6: one octet up to 127, then as many more as the number takes.
std::size_t length_octets(std::size_t count) {
  return count < 128 ? 1 : count < 256 ? 2 : 3;
}

std::size_t enveloped(std::size_t payload, std::size_t psid_octets, Envelope envelope) {
  constexpr std::size_t version_and_choice = 2;
  constexpr std::size_t hash_and_payload = 2;
  constexpr std::size_t times = 16;      // generation and expiry, 8 each
  constexpr std::size_t signer = 150;    // one implicit certificate
  constexpr std::size_t signature = 66;  // two choices, r and s of 32 each
  if (envelope == Envelope::none) return payload;
  const std::size_t unsecured = version_and_choice + length_octets(payload) + payload;
  if (envelope == Envelope::unsecured) return unsecured;
  const std::size_t header = 1 + 1 + psid_octets + times;
  return version_and_choice + hash_and_payload + unsecured + header + signer + signature;
}

}  // namespace

std::int64_t airtime_us(std::size_t octets) {
  constexpr std::int64_t bits_a_symbol = 48;
  const std::int64_t bits = 16 + 8 * static_cast<std::int64_t>(octets) + 6;
  return 40 + 8 * ((bits + bits_a_symbol - 1) / bits_a_symbol);
}

std::size_t frame_octets(std::size_t payload, std::size_t psid_octets, Envelope envelope) {
  constexpr std::size_t mac_and_check = 30;
  constexpr std::size_t llc = 2;
  constexpr std::size_t wsmp = 2;
  const std::size_t data = enveloped(payload, psid_octets, envelope);
  return mac_and_check + llc + wsmp + psid_octets + (data < 128 ? 1 : 2) + data;
}

}  // namespace vergeset::checks
