#include "checks/message.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "fleet/payload_file.h"
#include "smi/octet.h"

namespace vergeset::j2735 {

namespace {

using Octets = std::string_view;

std::string octets_text(std::size_t count) {
  return fmt::format("{} octet{}", count, count == 1 ? "" : "s");
}

/// The MessageFrame within an IEEE 1609.2 envelope (COER, from memory): version 3, then unsecured data
/// (80), or signed data (81) with a hash algorithm, a payload that is there (40), and unsecured data in it.
/// Nothing where the envelope is built otherwise.
std::optional<Octets> inside_envelope(Octets octets) {
  const auto starts = [&](std::initializer_list<unsigned> with) {
    std::size_t at = 0;
    for (const unsigned octet : with) {
      if (at >= octets.size() || smi::octet_at(octets, at++) != octet) return false;
    }
    return true;
  };
  if (starts({0x03, 0x81})) {
    constexpr std::size_t to_payload = 3;  // version, choice, hash algorithm
    if (octets.size() < to_payload) return std::nullopt;
    octets.remove_prefix(to_payload);
    if (!starts({0x40})) return std::nullopt;
    octets.remove_prefix(1);
  }
  if (!starts({0x03, 0x80}) || octets.size() < 3) return std::nullopt;
  octets.remove_prefix(2);
  // X.696 8.6: one octet up to 127, or the number of octets that the length has.
  std::size_t length = smi::octet_at(octets, 0);
  octets.remove_prefix(1);
  if (length >= 0x80) {
    const std::size_t more = length & 0x7fU;
    if (more < 1 || more > 2 || octets.size() < more) return std::nullopt;
    length = 0;
    for (std::size_t i = 0; i < more; ++i) length = length << 8U | smi::octet_at(octets, i);
    octets.remove_prefix(more);
  }
  if (length > octets.size()) return std::nullopt;
  return octets.substr(0, length);
}

void tell_fault(Message& message, const Uper& in, const std::string& shortage) {
  if (in.fault() == Uper::Fault::ended) {
    message.flaws.push_back(
        {Flaw::Kind::truncated, shortage + (shortage.empty() ? "" : "; ") + "it ends in " + in.where()});
  } else {
    message.flaws.push_back(
        {Flaw::Kind::malformed,
         "a value that the standard does not have, and nothing behind it was read: " + in.where()});
  }
}

void read_content(Message& message, Uper& in) {
  switch (*message.id) {
    case map_id:
      message.content = read_map(in);
      break;
    case spat_id:
      message.content = read_spat(in);
      break;
    case tim_id:
      message.content = read_traveller(in);
      break;
    default:
      break;
  }
}

bool has_whole_part(const Message& message) {
  if (const Map* map = message.map()) return !map->intersections.empty() || !map->segments.empty();
  if (const Spat* spat = message.spat()) return !spat->intersections.empty();
  return message.traveller() != nullptr && !message.traveller()->frames.empty();
}

/// `shortage` says that the frame promises more than is there; empty where it does not.
void read_body(Message& message, Octets body, const std::string& shortage) {
  Uper in(body);
  read_content(message, in);
  if (message.content.index() == 0) {
    if (!shortage.empty()) message.flaws.push_back({Flaw::Kind::truncated, shortage});
    return;
  }
  if (!in.ok()) {
    // Fields before the first part that is whole would read as zero where they are missing.
    if (!has_whole_part(message)) message.content = std::monostate{};
    return tell_fault(message, in, shortage);
  }
  if (!shortage.empty()) {
    message.flaws.push_back({Flaw::Kind::truncated, shortage + "; what it says is whole all the same"});
  } else if (in.bits_left() >= 8) {
    message.flaws.push_back(
        {Flaw::Kind::trailing, octets_text(in.bits_left() / 8) + " behind the message, within its frame"});
  } else if (!in.only_padding_left()) {
    message.flaws.push_back({Flaw::Kind::malformed, "the bits that fill the last octet are not zero"});
  }
}

void read_frame(Message& message, Octets octets) {
  Uper in(octets);
  const bool extended = in.flag("message id");
  const auto id = static_cast<int>(in.raw("message id", 15));
  if (in.ok()) message.id = id;
  const auto length = in.length("length of the message");
  if (!in.ok()) return tell_fault(message, in, "");
  Octets rest = octets.substr(octets.size() - in.bits_left() / 8);
  if (length.count > rest.size()) {
    return read_body(message, rest,
                     fmt::format("its frame says {}, {} there", octets_text(length.count),
                                 rest.size() == 1 ? "1 is" : fmt::format("{} are", rest.size())));
  }
  read_body(message, rest.substr(0, length.count), "");
  rest.remove_prefix(length.count);
  Uper additions(rest);
  additions.end_sequence({extended, 0, 0});
  if (!additions.ok()) return tell_fault(message, additions, "");
  const std::size_t left = extended ? additions.bits_left() / 8 : rest.size();
  if (left > 0) {
    message.flaws.push_back({Flaw::Kind::trailing, octets_text(left) + " behind the message"});
  }
}

}  // namespace

bool in_envelope(Octets octets) {
  return octets.size() >= 2 && octets[0] == '\x03' && smi::octet_at(octets, 1) >= 0x80 &&
         smi::octet_at(octets, 1) <= 0x83;
}

Message read_message(Octets octets) {
  Message message;
  message.octets = octets.size();
  if (octets.size() > fleet::most_payload) {
    message.flaws.push_back(
        {Flaw::Kind::too_long, fmt::format("{}; {} at most may be sent (IEEE 1609.3)",
                                           octets_text(octets.size()), fleet::most_payload)});
  }
  if (!in_envelope(octets)) {
    read_frame(message, octets);
    return message;
  }
  const bool is_signed = octets[1] == '\x81';
  message.envelope = is_signed             ? "signed data of IEEE 1609.2"
                     : octets[1] == '\x80' ? "unsecured data of IEEE 1609.2"
                                           : "data of IEEE 1609.2 that is not readable without a key";
  if (const auto inside = inside_envelope(octets)) read_frame(message, *inside);
  return message;
}

std::string message_kind_name(int id) {
  // SAE J2735; those that RSU 4.1's rsuSRMDsrcMsgId does not name are from memory.
  constexpr std::array<const char*, 15> names{"MAP",
                                              "SPAT",
                                              "basic safety message (BSM)",
                                              "common safety request (CSR)",
                                              "emergency vehicle alert (EVA)",
                                              "intersection collision (ICA)",
                                              "NMEA corrections",
                                              "probe data management (PDM)",
                                              "probe vehicle data (PVD)",
                                              "roadside alert (RSA)",
                                              "RTCM corrections",
                                              "signal request (SRM)",
                                              "signal status (SSM)",
                                              "traveller information (TIM)",
                                              "personal safety message (PSM)"};
  if (id < map_id || id >= map_id + static_cast<int>(names.size())) return fmt::format("message {}", id);
  return names[static_cast<std::size_t>(id - map_id)];
}

}  // namespace vergeset::j2735
