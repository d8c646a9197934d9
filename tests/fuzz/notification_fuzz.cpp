// Datagrams that anyone may send to whoever listens for notifications: what is taken, what goes back, and
// that nothing is taken twice. The first octet chooses whose address they come from; a community and a user
// without keys let the fuzzer get behind what a digest guards. A sixth comes over TLS, where the certificate
// was looked at before.
//
// About: src/snmp/notification_receiver.cpp src/snmp/notification.cpp src/snmp/usm_message.cpp
// src/snmp/ber.cpp src/snmp/local_engine.cpp src/snmp/message.cpp

#include "fuzz/fuzz.h"
#include "smi/value.h"
#include "snmp/library.h"
#include "snmp/notification_receiver.h"
#include "snmp/principals.h"

using namespace vergeset;
using snmp::NotificationReceiver;

namespace {

using Time = NotificationReceiver::Time;

const std::string own_engine = *smi::from_hex("80001f88050102030405060708090a0b0c");
const std::string engine = *smi::from_hex("80001f88044c4b2d313034");

std::string address(unsigned number) {
  return std::string(10, '\0') + "\xff\xff\x0a\x4d\x01" + static_cast<char>(number);
}

std::shared_ptr<const snmp::Principal> user(const std::string& auth, const std::string& privacy) {
  return *snmp::usm_principal("vergeset", auth, Secret::copy_of("of oak and ash"), privacy,
                              Secret::copy_of("of elm and yew"));
}

NotificationReceiver receiver() {
  static const auto secured = user("SHA-256", "AES-128");
  static const auto des = user("MD5", "DES");
  static const auto open = user("none", "none");
  static const auto community = *snmp::community_principal("2c", Secret::copy_of("of larch"));
  return NotificationReceiver({{address(0), engine, secured},
                               {address(1), engine, des},
                               {address(2), engine, open},
                               {address(3), "", community}},
                              {own_engine, 3, Time(0)});
}

void must_be_bounded(const NotificationReceiver::Taken& taken, std::size_t size) {
  constexpr std::size_t head = 256;  // of a message of ours, with a report in it
  fuzz::must(taken.report.size() < head, "a Report is small, whatever was sent");
  fuzz::must(taken.response.size() < size + head, "an answer is no larger than what it answers");
  fuzz::must(taken.report.empty() || taken.response.empty(), "one answer at most");
}

constexpr unsigned certified = 5;  ///< no address: over a connection of the unit at address(0)

void take_certified(NotificationReceiver& here, std::string_view input, Time now) {
  const auto taken = here.take_certified(input, 0, now);
  // The engine id may be asked for many times in one Get, which takes 16 octets each time.
  fuzz::must(taken.report.size() < 3 * input.size() + 64, "an answer is little larger than what it answers");
  fuzz::must(taken.response.size() < input.size() + 64, "an answer is no larger than what it answers");
  fuzz::must(taken.sender == 0U, "a connection is its unit's");
  if (taken.dropped) fuzz::must(!taken.notification, "what was dropped says nothing");
  if (!taken.notification) return;
  const auto again = here.take_certified(input, 0, now);
  fuzz::must(again.dropped == snmp::Dropped::repeated && !again.notification, "nothing is taken twice");
}

}  // namespace

FUZZ_TARGET(notification) {
  const unsigned number = fuzz::take_octet(input) % 6;
  NotificationReceiver here = receiver();
  const Time now = std::chrono::hours(2);
  if (number == certified) return take_certified(here, input, now);
  const auto taken = here.take(input, address(number), false, now);
  must_be_bounded(taken, input.size());
  if (taken.dropped) {
    fuzz::must(here.dropped(*taken.dropped) == 1, "what was dropped is counted",
               snmp::dropped_name(*taken.dropped));
    fuzz::must(!taken.notification, "what was dropped says nothing");
  }
  if (number == 4) {
    fuzz::must(taken.dropped == snmp::Dropped::unknown_sender, "an address that is no unit's is unknown");
    fuzz::must(taken.report.empty() && taken.response.empty(), "a stranger gets no answer");
  }
  if (!taken.notification) return;
  fuzz::must(taken.sender == number, "a notification is of the unit at its address");
  for (const snmp::VarBind& bind : taken.notification->varbinds) {
    const std::string exact = smi::exact_text(bind.value);
    fuzz::must(fuzz::safe_to_show(exact), "a value is safe to show", exact);
  }
  const auto again = here.take(input, address(number), false, now);
  fuzz::must(again.dropped == snmp::Dropped::repeated && !again.notification, "nothing is taken twice");
  must_be_bounded(again, input.size());
}
