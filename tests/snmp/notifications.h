#pragma once

#include <array>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "catch.h"
#include "smi/value.h"
#include "snmp/ber.h"
#include "snmp/message.h"
#include "snmp/notification_receiver.h"
#include "snmp/principals.h"
#include "snmp/usm_message.h"

/// What units of an invented street send, made octet by octet, and whoever receives it.
namespace vergeset::street {

using namespace vergeset::snmp;
using Time = std::chrono::milliseconds;

inline const std::string own_id = *smi::from_hex("80001f88050102030405060708090a0b0c");
inline const std::string engine_104 = *smi::from_hex("80001f88044c4b2d313034");
inline const std::string engine_117 = *smi::from_hex("80001f88044c4b2d313137");
inline const std::string address_104 = std::string(10, '\0') + "\xff\xff\x0a\x4d\x01\x04";
inline const std::string address_117 = std::string(10, '\0') + "\xff\xff\x0a\x4d\x01\x11";
inline const std::string address_9 = std::string(10, '\0') + "\xff\xff\x0a\x4d\x01\x09";
inline const std::string stranger = std::string(10, '\0') + "\xff\xff\xc6\x33\x64\x42";

using PrincipalPtr = std::shared_ptr<const Principal>;

inline PrincipalPtr user(const std::string& name = "vergeset", const std::string& auth = "SHA-256",
                         const std::string& privacy = "AES-128",
                         const std::string& secret = "of oak and ash") {
  auto made = usm_principal(name, auth, Secret::copy_of(secret), privacy, Secret::copy_of("of elm and yew"));
  INFO((made ? std::string() : made.problem()));
  REQUIRE(made);
  return *made;
}

inline PrincipalPtr community() {
  return *community_principal("2c", Secret::copy_of("of larch"));
}

/// The keys of the user as the key store has them: localized to the unit's engine.
inline PrincipalPtr stored(const std::string& engine) {
  UsmKeys keys;
  REQUIRE(localize(*user(), engine, keys));
  const auto secret = [](const Key& key) {
    return Secret::copy_of({reinterpret_cast<const char*>(key.octets.data()), key.size});
  };
  return *localized_principal("vergeset", "SHA-256", secret(keys.auth_key), "AES-128",
                              secret(keys.privacy_key), engine);
}

inline std::string object_id(const std::vector<unsigned char>& octets) {
  return ber::tagged(6, std::string(octets.begin(), octets.end()));
}

inline const std::string up_time = object_id({0x2b, 6, 1, 2, 1, 1, 3, 0});
inline const std::string trap_oid = object_id({0x2b, 6, 1, 6, 3, 1, 1, 4, 1, 0});
inline std::string standard_trap(unsigned char number) {
  return object_id({0x2b, 6, 1, 6, 3, 1, 1, 5, number});
}

inline std::string varbind(const std::string& name, const std::string& value) {
  return ber::tagged(ber::sequence, name + value);
}

inline std::string ticks(std::int64_t hundredths) {
  std::string number = ber::number(hundredths);
  number.front() = 0x43;
  return number;
}

inline constexpr unsigned char trap_pdu = 0xa7;
inline constexpr unsigned char inform_pdu = 0xa6;
inline constexpr unsigned char get_pdu = 0xa0;

/// coldStart, told with this request-id (RFC 3416 4.2.6).
inline std::string pdu(unsigned char tag, std::int64_t request, const std::string& more = {}) {
  const std::string binds =
      ber::tagged(ber::sequence, varbind(up_time, ticks(1200)) + varbind(trap_oid, standard_trap(1)) + more);
  return ber::tagged(tag, ber::number(request) + ber::number(0) + ber::number(0) + binds);
}

/// A message of SNMPv3 as a unit makes it. Each part can be made wrong.
struct Made {
  PrincipalPtr as = user();
  std::string engine = engine_104;
  std::uint32_t boots = 7;
  std::uint32_t time = 1000;
  std::string body = pdu(trap_pdu, 1);
  std::string context = engine_104;
  std::string user_name = "vergeset";
  int level = SNMP_SEC_LEVEL_AUTHPRIV;
  bool reportable = false;
  std::int64_t id = 4711;

  std::string octets() const {
    UsmKeys keys;
    REQUIRE(localize(*as, engine, keys));
    const UsmHead head{id, level, engine, boots, time, user_name, reportable};
    std::string message = write_usm_message(head, keys, scoped_pdu(context, body));
    REQUIRE_FALSE(message.empty());
    return message;
  }
};

/// Receives what LK-104 (10.77.1.4) and LK-117 (10.77.1.17) send, and LK-9 (10.77.1.9) by community.
class Desk {
 public:
  explicit Desk(PrincipalPtr of_104 = user())
      : receiver({{address_104, engine_104, std::move(of_104)},
                  {address_117, engine_117, user()},
                  {address_9, "", community()}},
                 {own_id, 3, Time(0)}) {}

  NotificationReceiver::Taken take(const std::string& octets, const std::string& from = address_104) {
    return receiver.take(octets, from, false, now);
  }

  NotificationReceiver receiver;
  Time now{std::chrono::hours(2)};
};

/// A message that a Desk sent back: what its head says, and its PDU in the clear.
struct Back {
  UsmMessage message;
  std::string scoped;
  std::string_view pdu;
};
inline Back read_back(const std::string& octets, const PrincipalPtr& as = user()) {
  const auto message = read_usm_message(octets);
  REQUIRE(message);
  Back back{*message, std::string(message->data), {}};
  UsmKeys keys;
  if (message->level >= SNMP_SEC_LEVEL_AUTHNOPRIV) {
    REQUIRE(localize(*as, message->engine_id, keys));
    REQUIRE(is_authentic(*message, keys));
  }
  if (message->level == SNMP_SEC_LEVEL_AUTHPRIV) back.scoped = *decrypted(*message, keys);
  const auto scoped = read_scoped_pdu(back.scoped);
  REQUIRE(scoped);
  back.pdu = scoped->pdu;
  return back;
}

}  // namespace vergeset::street
