#pragma once

#include <cstddef>
#include <cstdint>

namespace vergeset::checks {

/// Octets on the air of one message, and how long they take.

/// IEEE 802.11-2016 clause 17, half-clocked: OFDM in a channel of 10 MHz at 6 Mb/s. 40 us of preamble and
/// SIGNAL, then symbols of 8 us with 48 bits: 16 of SERVICE, the octets, 6 of tail. `octets` is the whole MAC
/// frame, its check sequence included. Waiting for the channel is not in it.
std::int64_t airtime_us(std::size_t octets);

/// How a message is wrapped before it is sent.
enum class Envelope {
  none,       ///< as it is, or wrapped already
  unsecured,  ///< IEEE 1609.2 unsecured data
  sealed      ///< IEEE 1609.2 signed data, with the whole certificate
};

/// The MAC frame of a WAVE short message with so many octets of payload. All sizes are from memory:
///   IEEE 802.11    QoS data header 26, frame check sequence 4
///   IEEE 1609.3    LLC (EtherType) 2, WSMP version and type of header 2, the PSID, length 1 or 2; no
///                  extensions
///   IEEE 1609.2    unsecured: version, choice, length (3 to 5). Signed: these twice, hash algorithm and
///                  payload 2, header with PSID, generation and expiry 18 to 21, signer with an implicit
///                  certificate 150, signature by ECDSA 66
/// A unit may send the certificate's digest (8 octets) in most of its messages; then it takes less.
std::size_t frame_octets(std::size_t payload, std::size_t psid_octets, Envelope envelope);

}  // namespace vergeset::checks
