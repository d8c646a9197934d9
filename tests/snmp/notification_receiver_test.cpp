#include "notifications.h"

using namespace vergeset;
using namespace vergeset::street;

namespace {

const smi::Oid cold_start{1, 3, 6, 1, 6, 3, 1, 1, 5, 1};  // RFC 3418

}  // namespace

TEST_CASE(
    "a trap of a known engine is taken with each protocol, and its sender is the authoritative engine") {
  // Names as in fleet.yaml; RFC 3414, RFC 3826, RFC 7860.
  for (const std::string auth : {"MD5", "SHA-1", "SHA-224", "SHA-256", "SHA-384", "SHA-512"}) {
    for (const std::string privacy : {"none", "DES", "AES-128", "AES-192", "AES-256"}) {
      CAPTURE(auth, privacy);
      const PrincipalPtr as = user("vergeset", auth, privacy);
      Desk desk(as);
      Made made;
      made.as = as;
      made.level = as->level;
      const auto taken = desk.take(made.octets());
      REQUIRE(taken.notification);
      CHECK(taken.sender == 0);
      CHECK(taken.notification->id == cold_start);
      CHECK(taken.notification->kind == Notification::Kind::trap);
      CHECK(taken.notification->up == 1200);
      CHECK(taken.report.empty());  // a trap is not answered (RFC 3412 6.4)
      CHECK(taken.response.empty());
    }
  }
}

TEST_CASE("an address that is no unit's is counted, gets no answer, and costs no key") {
  Desk desk;
  Made discovery;
  discovery.reportable = true;
  const auto taken = desk.take(discovery.octets(), stranger);
  CHECK(taken.dropped == Dropped::unknown_sender);
  CHECK(taken.report.empty());
  CHECK_FALSE(taken.sender);
  CHECK(desk.receiver.dropped(Dropped::unknown_sender) == 1);
}

TEST_CASE("each thing that is wrong with a trap has its own count, and none is answered") {
  struct Wrong {
    const char* about;
    Dropped reason;
    std::function<void(Made&)> make;
  };
  const std::vector<Wrong> wrongs{
      {"an engine that nobody has", Dropped::unknown_engine, [](Made& made) { made.engine += "x"; }},
      {"the engine of another unit", Dropped::unknown_engine, [](Made& made) { made.engine = engine_117; }},
      {"a user that it has not (RFC 3414 3.2 4)", Dropped::unknown_user,
       [](Made& made) { made.user_name = "root"; }},
      {"less secure than its credential", Dropped::wrong_level,
       [](Made& made) { made.level = SNMP_SEC_LEVEL_AUTHNOPRIV; }},
      {"not secured at all", Dropped::wrong_level, [](Made& made) { made.level = SNMP_SEC_LEVEL_NOAUTH; }},
      {"another key (RFC 3414 3.2 6)", Dropped::wrong_digest,
       [](Made& made) { made.as = user("vergeset", "SHA-256", "AES-128", "of birch and beech"); }},
      {"a GET", Dropped::other_pdu, [](Made& made) { made.body = pdu(get_pdu, 1); }},
      {"an inform under its own engine", Dropped::other_pdu,
       [](Made& made) { made.body = pdu(inform_pdu, 1); }},
      {"a PDU that is none", Dropped::malformed,
       [](Made& made) { made.body = ber::tagged(trap_pdu, "none"); }},
  };
  for (const Wrong& wrong : wrongs) {
    INFO(wrong.about);
    Desk desk;
    Made made;
    wrong.make(made);
    const auto taken = desk.take(made.octets());
    CHECK(taken.dropped == wrong.reason);
    CHECK_FALSE(taken.notification);
    CHECK(taken.report.empty());
    CHECK(desk.receiver.dropped(wrong.reason) == 1);
  }
}

TEST_CASE("a trap in which any octet was changed is dropped") {
  const std::string octets = Made().octets();
  for (std::size_t i = 0; i < octets.size(); ++i) {
    CAPTURE(i);
    Desk desk;
    std::string changed = octets;
    changed[i] = static_cast<char>(changed[i] ^ 0x01);
    CHECK_FALSE(desk.take(changed).notification);
  }
}

TEST_CASE("octets that are no message, and one that was cut, are malformed") {
  const std::string octets = Made().octets();
  Desk desk;
  for (std::size_t size = 0; size < octets.size(); ++size) {
    CAPTURE(size);
    CHECK(desk.take(octets.substr(0, size)).dropped == Dropped::malformed);
    desk.now += std::chrono::seconds(1);
  }
  CHECK(desk.receiver.take(octets, address_104, true, desk.now).dropped == Dropped::malformed);
  CHECK(desk.take(octets + "x").dropped == Dropped::malformed);
}

TEST_CASE("the same trap once more is not taken, and after 150 s it is outside the time window") {
  // RFC 3414 2.2.3, 3.2 7b: what a listener on the way has recorded.
  const std::string octets = Made().octets();
  Desk desk;
  REQUIRE(desk.take(octets).notification);
  CHECK(desk.take(octets).dropped == Dropped::repeated);
  desk.now += std::chrono::seconds(149);
  CHECK(desk.take(octets).dropped == Dropped::repeated);
  desk.now += std::chrono::seconds(3);
  CHECK(desk.take(octets).dropped == Dropped::outside_window);
}

TEST_CASE("an engine's clock goes on, also over its restarts, and never back") {
  Desk desk;
  const auto at = [](std::uint32_t boots, std::uint32_t time, std::int64_t request) {
    Made made;
    made.boots = boots;
    made.time = time;
    made.body = pdu(trap_pdu, request);
    return made.octets();
  };
  REQUIRE(desk.take(at(7, 1000, 1)).notification);
  CHECK(desk.take(at(7, 851, 2)).notification);                        // 149 s late on its way
  CHECK(desk.take(at(7, 849, 3)).dropped == Dropped::outside_window);  // 151 s
  REQUIRE(desk.take(at(8, 5, 4)).notification);                        // it started anew
  CHECK(desk.take(at(7, 1001, 5)).dropped == Dropped::outside_window);
  CHECK(desk.take(at(2147483647, 5, 6)).dropped == Dropped::outside_window);  // RFC 3414 2.2.2
}

TEST_CASE("what the records knew of an engine's clock counts from the first trap on") {
  Desk desk;
  desk.receiver.learn(0, {engine_104, 8, 500}, desk.now);
  CHECK(desk.take(Made().octets()).dropped == Dropped::outside_window);  // boots 7
  CHECK_FALSE(Desk().receiver.engine_of(0, desk.now));
  Made later;
  later.boots = 8;
  later.time = 600;
  REQUIRE(desk.take(later.octets()).notification);
  const auto engine = desk.receiver.engine_of(0, desk.now + std::chrono::seconds(10));
  REQUIRE(engine);
  CHECK(engine->boots == 8);
  CHECK(engine->time == 610);
}

TEST_CASE("an engine that lost its boots is heard again once an exchange with it has told so") {
  Desk desk;
  REQUIRE(desk.take(Made().octets()).notification);
  Made reset;
  reset.boots = 1;
  reset.time = 30;
  reset.body = pdu(trap_pdu, 2);
  CHECK(desk.take(reset.octets()).dropped == Dropped::outside_window);
  desk.receiver.learn(0, {engine_104, 1, 25}, desk.now);
  CHECK(desk.take(reset.octets()).notification);
}

TEST_CASE("an engine that was not known is, as soon as the records know it") {
  Desk desk;
  Made made;
  made.engine = made.context = *smi::from_hex("80001f8804616e6f74686572");
  CHECK(desk.take(made.octets()).dropped == Dropped::unknown_engine);
  desk.receiver.learn(0, {made.engine, 0, 0}, desk.now);
  CHECK(desk.take(made.octets()).notification);
  CHECK(desk.take(Made().octets()).dropped == Dropped::unknown_engine);
}

TEST_CASE(
    "a flood from a unit's address is cut off before any key is used, and the unit is heard again after it") {
  Desk desk;
  const std::string garbage(400, 'x');
  std::size_t looked_at = 0;
  for (int i = 0; i < 100000; ++i) looked_at += desk.take(garbage).dropped == Dropped::malformed ? 1 : 0;
  CHECK(looked_at <= 200);
  CHECK(desk.receiver.dropped(Dropped::over_rate) == 100000 - looked_at);
  CHECK(desk.take(pdu(trap_pdu, 1), address_117).dropped ==
        Dropped::malformed);  // others have their own rate
  desk.now += std::chrono::seconds(1);
  CHECK(desk.take(Made().octets()).notification);
}

TEST_CASE("of a unit that sends without end so many are taken as can be known again") {
  Desk desk;
  std::size_t taken = 0;
  for (std::uint32_t i = 0; i < 600; ++i) {
    Made made;
    made.time = 1000 + i / 10;
    made.body = pdu(trap_pdu, i + 1);
    if (desk.take(made.octets()).notification) ++taken;
    desk.now += std::chrono::milliseconds(100);
  }
  CHECK(taken == 128);
  desk.now += std::chrono::seconds(152);
  Made made;
  made.time = 1300;
  CHECK(desk.take(made.octets()).notification);
}

TEST_CASE("a sender of informs discovers us and our clock by Reports") {
  Desk desk;
  Made probe;  // RFC 3414 section 4: no engine, no user, nothing secured
  probe.engine = "";
  probe.as = user("nobody", "none", "none");
  probe.level = SNMP_SEC_LEVEL_NOAUTH;
  probe.user_name = "";
  probe.reportable = true;
  probe.body =
      ber::tagged(get_pdu, ber::number(9) + ber::number(0) + ber::number(0) + ber::tagged(ber::sequence, ""));
  const auto asked = desk.take(probe.octets());
  CHECK_FALSE(asked.dropped);
  const Back back = read_back(asked.report);
  CHECK(back.message.engine_id == own_id);
  CHECK(back.message.boots == 3);
  CHECK(back.message.time == 7200);
  CHECK(back.message.id == probe.id);
  CHECK_FALSE(back.message.reportable);
  // usmStatsUnknownEngineIDs (RFC 3414 section 5): 1.3.6.1.6.3.15.1.1.4.0
  CHECK(back.pdu.find(std::string("\x2b\x06\x01\x06\x03\x0f\x01\x01\x04\x00", 10)) != std::string::npos);
  CHECK(static_cast<unsigned char>(back.pdu.front()) == 0xa8);
  CHECK(desk.receiver.discoveries() == 1);

  Made early;
  early.engine = own_id;
  early.boots = early.time = 0;
  early.reportable = true;
  early.body = pdu(inform_pdu, 10);
  const auto refused = desk.take(early.octets());
  CHECK(refused.dropped == Dropped::outside_window);
  const Back clock = read_back(refused.report);
  CHECK(clock.message.level == SNMP_SEC_LEVEL_AUTHNOPRIV);  // RFC 3414 3.2 7a
  CHECK(clock.pdu.find(std::string("\x2b\x06\x01\x06\x03\x0f\x01\x01\x02\x00", 10)) != std::string::npos);
}

namespace {

Made inform(std::int64_t request = 77) {
  Made made;
  made.engine = own_id;
  made.boots = 3;
  made.time = 7200;
  made.reportable = true;
  made.body = pdu(inform_pdu, request);
  return made;
}

}  // namespace

TEST_CASE("an inform is taken once and answered each time, with the variables that it brought") {
  Desk desk;
  const Made made = inform();
  const auto taken = desk.take(made.octets());
  REQUIRE(taken.notification);
  CHECK(taken.notification->kind == Notification::Kind::inform);
  const Back back = read_back(taken.response);
  CHECK(back.message.level == SNMP_SEC_LEVEL_AUTHPRIV);
  CHECK(back.message.id == made.id);
  CHECK(static_cast<unsigned char>(back.pdu.front()) == 0xa2);  // Response-PDU (RFC 3416 4.2.7)
  CHECK(back.pdu.substr(1) == std::string_view(made.body).substr(1));
  const auto again = desk.take(made.octets());  // its Response was lost
  CHECK(again.dropped == Dropped::repeated);
  CHECK_FALSE(again.notification);
  CHECK_FALSE(again.response.empty());
  desk.receiver.forget(0, taken.print);  // it was not kept after all
  CHECK(desk.take(made.octets()).notification);
}

TEST_CASE(
    "an inform outside our own time window, or with another key, is answered by a Report and not taken") {
  struct Wrong {
    Dropped reason;
    std::function<void(Made&)> make;
  };
  const std::vector<Wrong> wrongs{
      {Dropped::outside_window, [](Made& made) { made.time = 7351; }},
      {Dropped::outside_window, [](Made& made) { made.time = 7049; }},
      {Dropped::outside_window, [](Made& made) { made.boots = 2; }},
      {Dropped::unknown_user, [](Made& made) { made.user_name = "root"; }},
      {Dropped::wrong_level, [](Made& made) { made.level = SNMP_SEC_LEVEL_AUTHNOPRIV; }},
      {Dropped::wrong_digest,
       [](Made& made) { made.as = user("vergeset", "SHA-256", "AES-128", "of birch and beech"); }},
  };
  for (const Wrong& wrong : wrongs) {
    Desk desk;
    Made made = inform();
    wrong.make(made);
    const auto taken = desk.take(made.octets());
    CHECK(taken.dropped == wrong.reason);
    CHECK_FALSE(taken.report.empty());
    CHECK(taken.response.empty());
    made.reportable = false;
    CHECK(desk.take(made.octets()).report.empty());  // RFC 3412 6.4
  }
}

TEST_CASE("keys that are localized to the unit's engine take its traps and no informs") {
  // RFC 3414 2.6: of an inform the engine is ours, and such keys say nothing about those that it has there.
  Desk desk(stored(engine_104));
  Made trap;
  CHECK(desk.take(trap.octets()).notification);
  const auto taken = desk.take(inform().octets());
  CHECK(taken.dropped == Dropped::unknown_user);
  const Back back = read_back(taken.report);
  CHECK(back.pdu.find(std::string("\x2b\x06\x01\x06\x03\x0f\x01\x01\x03\x00", 10)) != std::string::npos);
}

TEST_CASE("an inform that is about another unit's engine is not taken as the one's at its address") {
  Desk desk;
  Made made = inform();
  made.context = engine_117;
  CHECK(desk.take(made.octets()).dropped == Dropped::unknown_engine);
  made.context = own_id;  // as net-snmp's snmpinform has it
  made.body = pdu(inform_pdu, 78);
  CHECK(desk.take(made.octets()).sender == 0);
}

namespace {

std::string plain(int version, const std::string& name, const std::string& body) {
  return ber::tagged(ber::sequence, ber::number(version) + ber::tagged(ber::octet_string, name) + body);
}

}  // namespace

TEST_CASE("by community a trap and an inform of SNMPv2c are taken, with another or none they are not") {
  Desk desk;
  const auto trap = desk.take(plain(1, "of larch", pdu(trap_pdu, 5)), address_9);
  REQUIRE(trap.notification);
  CHECK(trap.sender == 2);
  const std::string asked = plain(1, "of larch", pdu(inform_pdu, 6));
  const auto informed = desk.take(asked, address_9);
  REQUIRE(informed.notification);
  std::string answer = asked;
  answer[answer.find('\xa6')] = '\xa2';
  CHECK(informed.response == answer);  // RFC 3416 4.2.7
  CHECK(desk.take(plain(1, "public", pdu(trap_pdu, 7)), address_9).dropped == Dropped::wrong_community);
  CHECK(desk.take(plain(1, "of larch", pdu(trap_pdu, 7))).dropped == Dropped::wrong_community);
  CHECK(desk.take(plain(1, "of larch", pdu(get_pdu, 8)), address_9).dropped == Dropped::other_pdu);
  CHECK(desk.take(plain(0, "of larch", pdu(trap_pdu, 9)), address_9).dropped == Dropped::other_pdu);
}

TEST_CASE("a trap of SNMPv1 becomes what RFC 3584 makes of it, without its community") {
  const auto first = [](int generic, int specific) {
    std::string agent = ber::tagged(0x40, std::string("\x0a\x4d\x01\x09", 4));
    return plain(
        0, "of larch",
        ber::tagged(0xa4, object_id({0x2b, 6, 1, 4, 1, 0x89, 0x36, 4}) + agent + ber::number(generic) +
                              ber::number(specific) + ticks(4200) + ber::tagged(ber::sequence, "")));
  };
  Desk desk;
  const auto link = desk.take(first(2, 0), address_9);
  REQUIRE(link.notification);
  CHECK(link.notification->id == smi::Oid{1, 3, 6, 1, 6, 3, 1, 1, 5, 3});  // linkDown, RFC 3584 3.1 (2)
  CHECK(link.notification->up == 4200);
  CHECK(link.notification->kind == Notification::Kind::first_trap);
  REQUIRE(link.notification->varbinds.size() == 2);
  CHECK(link.notification->varbinds[0].oid == smi::Oid{1, 3, 6, 1, 6, 3, 18, 1, 3, 0});  // snmpTrapAddress
  CHECK(link.notification->varbinds[1].oid ==
        smi::Oid{1, 3, 6, 1, 6, 3, 1, 1, 4, 3, 0});  // snmpTrapEnterprise
  const auto own = desk.take(first(6, 17), address_9);
  REQUIRE(own.notification);
  CHECK(own.notification->id == smi::Oid{1, 3, 6, 1, 4, 1, 1206, 4, 0, 17});  // enterprise.0.specific
  CHECK(desk.take(first(7, 0), address_9).dropped == Dropped::other_pdu);
}

TEST_CASE("a notification that does not begin with its time and its name is none") {
  // RFC 3416 4.2.6
  Desk desk;
  const std::string turned = ber::tagged(
      trap_pdu,
      ber::number(1) + ber::number(0) + ber::number(0) +
          ber::tagged(ber::sequence, varbind(trap_oid, standard_trap(1)) + varbind(up_time, ticks(1))));
  CHECK(desk.take(plain(1, "of larch", turned), address_9).dropped == Dropped::other_pdu);
}

TEST_CASE("units that share an address are told apart by their engines, and by nothing else") {
  NotificationReceiver receiver({{address_104, engine_104, user()},
                                 {address_104, engine_117, user()},
                                 {address_104, "", community()},
                                 {address_104, "", community()}},
                                {own_id, 3, Time(0)});
  const Time now = std::chrono::hours(2);
  Made made;
  made.engine = made.context = engine_117;
  CHECK(receiver.take(made.octets(), address_104, false, now).sender == 1);
  Made asked = inform();
  asked.context = engine_117;
  CHECK(receiver.take(asked.octets(), address_104, false, now).sender == 1);
  asked.context = own_id;
  asked.body = pdu(inform_pdu, 79);
  CHECK(receiver.take(asked.octets(), address_104, false, now).dropped == Dropped::unknown_engine);
  CHECK(receiver.take(plain(1, "of larch", pdu(trap_pdu, 5)), address_104, false, now).dropped ==
        Dropped::unknown_engine);
}

namespace {

/// A message over TLS or DTLS (RFC 5591 4.1), with these flags and security parameters.
std::string tsm(const std::string& scoped, int flags = 3, const std::string& parameters = {}) {
  const char octet = static_cast<char>(flags);
  return ber::tagged(
      ber::sequence,
      ber::number(3) +
          ber::tagged(ber::sequence, ber::number(815) + ber::number(65507) +
                                         ber::tagged(ber::octet_string, {&octet, 1}) + ber::number(4)) +
          ber::tagged(ber::octet_string, parameters) + scoped);
}

}  // namespace

TEST_CASE("over TLS and DTLS a trap is taken, and an inform is acknowledged at its level, once more too") {
  Desk desk;
  const auto trap = desk.receiver.take_certified(tsm(scoped_pdu(engine_104, pdu(trap_pdu, 1))), 0, desk.now);
  REQUIRE(trap.notification);
  CHECK(trap.sender == 0);
  CHECK(trap.response.empty());
  for (const int level : {0, 1, 3}) {
    const std::string asked = scoped_pdu(own_id, pdu(inform_pdu, 100 + level));
    const auto first = desk.receiver.take_certified(tsm(asked, level | 4), 1, desk.now);
    REQUIRE(first.notification);
    // RFC 3412 7.1.2 and 7.2: the level of the request; RFC 3416 4.2.7: the same variable bindings.
    const std::string answer = tsm(scoped_pdu(own_id, pdu(0xa2, 100 + level)), level);
    const auto head = read_tsm_message(first.response);
    REQUIRE(head);
    CHECK(head->id == 815);
    CHECK(head->level_flags == level);
    CHECK(head->scoped_pdu == read_tsm_message(answer)->scoped_pdu);
    const auto again = desk.receiver.take_certified(tsm(asked, level | 4), 1, desk.now);
    CHECK(again.dropped == Dropped::repeated);
    CHECK(again.response == first.response);
  }
}

TEST_CASE("over TLS and DTLS who asks for our engine id is told it, and nothing else") {
  const std::string local("\x80\x00\x00\x00\x06", 5);  // RFC 5343 3.1
  const std::string null("\x05\x00", 2);
  const std::string engine_object = object_id({0x2b, 6, 1, 6, 3, 10, 2, 1, 1, 0});  // snmpEngineID.0
  const std::string boots_object = object_id({0x2b, 6, 1, 6, 3, 10, 2, 1, 2, 0});   // snmpEngineBoots.0
  const auto get = [&](const std::string& binds) {
    return ber::tagged(get_pdu,
                       ber::number(7) + ber::number(0) + ber::number(0) + ber::tagged(ber::sequence, binds));
  };
  Desk desk;
  const auto told = desk.receiver.take_certified(
      tsm(scoped_pdu(local, get(varbind(engine_object, null) + varbind(boots_object, null))), 4), 0,
      desk.now);
  const std::string expected = ber::tagged(
      0xa2,
      ber::number(7) + ber::number(0) + ber::number(0) +
          ber::tagged(ber::sequence, varbind(engine_object, ber::tagged(ber::octet_string, own_id)) +
                                         varbind(boots_object, std::string("\x80\x00", 2))));  // noSuchObject
  CHECK_FALSE(told.dropped);
  REQUIRE(read_tsm_message(told.report));
  CHECK(read_tsm_message(told.report)->scoped_pdu == scoped_pdu(local, expected));
  CHECK(read_tsm_message(told.report)->level_flags == 0);
  CHECK(desk.receiver.discoveries() == 1);
  const auto elsewhere =
      desk.receiver.take_certified(tsm(scoped_pdu(own_id, get(varbind(engine_object, null)))), 0, desk.now);
  CHECK(elsewhere.dropped == Dropped::other_pdu);
  CHECK(elsewhere.report.empty());
  const auto broken = desk.receiver.take_certified(tsm(scoped_pdu(local, get("\x30\x05zz"))), 0, desk.now);
  CHECK(broken.dropped == Dropped::other_pdu);
}

TEST_CASE(
    "over TLS and DTLS what is no message of the transport security model is malformed, and there is a "
    "rate") {
  Desk desk;
  const std::string good = scoped_pdu(engine_104, pdu(trap_pdu, 1));
  const auto take = [&](const std::string& octets) {
    return desk.receiver.take_certified(octets, 0, desk.now).dropped;
  };
  CHECK(take(tsm(good, 2)) == Dropped::malformed);          // RFC 3412 7.2 5: privacy alone
  CHECK(take(tsm(good, 3, "some")) == Dropped::malformed);  // RFC 5591 5.2 1
  CHECK(take(tsm(good) + "z") == Dropped::malformed);
  CHECK(take(Made().octets()) == Dropped::malformed);  // of the user-based security model
  CHECK(take(plain(1, "of larch", pdu(trap_pdu, 5))) == Dropped::malformed);
  CHECK(take(tsm(scoped_pdu(engine_104, pdu(0xa2, 9)))) == Dropped::other_pdu);
  for (std::size_t cut = 0; cut < tsm(good).size(); ++cut)
    CHECK(take(tsm(good).substr(0, cut)) == Dropped::malformed);
  CHECK_FALSE(take(tsm(good)));
  bool over = false;
  for (int i = 0; i < 300 && !over; ++i) over = take(tsm(good)) == Dropped::over_rate;
  CHECK(over);
}
