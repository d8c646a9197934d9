#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "checks/map_message.h"
#include "checks/signal_message.h"
#include "checks/traveller_message.h"

/// What a payload says: the SAE J2735 (2016) MessageFrame in UPER (ITU-T X.691). The grammar is from
/// memory, held against published messages, tshark's and asn1c's decoders (tests/payload). MAP, SPAT and
/// traveller information are read whole; of the others the kind alone. Nothing is guessed: what could not
/// be read to its end says so.
namespace vergeset::j2735 {

/// DSRCmsgID (SAE J2735; RSU 4.1 MIB, rsuSRMDsrcMsgId, names the first, second, third and last).
inline constexpr int map_id = 18;
inline constexpr int spat_id = 19;
inline constexpr int bsm_id = 20;
inline constexpr int tim_id = 31;

/// What is wrong with a payload as octets, whatever it says.
struct Flaw {
  enum class Kind {
    truncated,  ///< octets are missing
    trailing,   ///< octets are left over
    too_long,   ///< more than a payload may have
    malformed   ///< a value that the standard does not have
  };
  Kind kind = Kind::truncated;
  std::string text;
};

struct Message {
  std::optional<int> id;  ///< nothing where not even two octets are there
  /// Where an IEEE 1609.2 envelope stands around it, or something that is no MessageFrame: in words.
  std::string envelope;
  std::size_t octets = 0;  ///< of the payload, whole
  /// As far as it was read; nothing of a kind that is not read, or where no part of it is whole.
  std::variant<std::monostate, Map, Traveller, Spat> content;
  std::vector<Flaw> flaws;

  const Map* map() const { return std::get_if<Map>(&content); }
  const Traveller* traveller() const { return std::get_if<Traveller>(&content); }
  const Spat* spat() const { return std::get_if<Spat>(&content); }
};

/// Whether the payload begins as data of IEEE 1609.2 does (from memory), and not as a MessageFrame.
bool in_envelope(std::string_view octets);

Message read_message(std::string_view octets);

/// "MAP", "traveller information (TIM)"; "message 77" where the standard gives it no name that is known here.
std::string message_kind_name(int id);

}  // namespace vergeset::j2735
