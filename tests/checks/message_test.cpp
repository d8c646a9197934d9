#include "checks/message.h"

#include "catch.h"
#include "smi/value.h"

using namespace vergeset;
using namespace vergeset::j2735;

namespace {

Message message_of(const std::string& hex) {
  const auto octets = smi::from_hex(hex);
  REQUIRE(octets);
  return read_message(*octets);
}

/// Each by its kind and text.
std::vector<std::string> flaws_of(const Message& message) {
  constexpr const char* kinds[] = {"truncated", "trailing", "too long", "malformed"};
  std::vector<std::string> flaws;
  for (const Flaw& flaw : message.flaws) {
    flaws.push_back(std::string(kinds[static_cast<std::size_t>(flaw.kind)]) + ": " + flaw.text);
  }
  return flaws;
}

using Flaws = std::vector<std::string>;

// Published UPER sample messages of a connected-vehicle certification body, 2017.
const std::string least_map = "00121f48" + std::string(60, '0');
const std::string speed_limit = "001f200000008000000001f4000000220000025fc180b914f6241019300188c4644420";
const std::string signals =
    "0013340000003d8000000143ebe5e7d29e9c996665cdd2a75e5b80411a0008200828745c3cfa53d3932d0cb92be1d7b00811a000"
    "8200aa";

}  // namespace

TEST_CASE("the published MAP with nothing but its revision is read whole") {
  const Message message = message_of("0012020000");
  CHECK(message.id == map_id);
  CHECK(message.flaws.empty());
  REQUIRE(message.map() != nullptr);
  CHECK(*message.map() == Map{});
}

TEST_CASE("the published MAP with the least of every value is read whole") {
  const Message message = message_of(least_map);
  CHECK(flaws_of(message).empty());
  REQUIRE(message.map() != nullptr);
  const Map& map = *message.map();
  CHECK(map.revision == 0);
  REQUIRE(map.intersections.size() == 1);
  const Intersection& at = map.intersections[0];
  CHECK(at.id == Reference{std::nullopt, 0});
  CHECK(at.revision == 0);
  CHECK(at.position == Position{-900000000, -1799999999, std::nullopt});
  REQUIRE(at.lanes.size() == 1);
  CHECK(at.lanes[0].nodes == std::vector<Node>{{Offset{-512, -512}}, {Offset{-512, -512}}});
}

// 12569 and 8720 are ITIS codes: 25 and mph (from memory).
TEST_CASE("the published traveller information is a speed limit of 25 mph within 50 m, for ever") {
  const Message message = message_of(speed_limit);
  CHECK(message.id == tim_id);
  CHECK(flaws_of(message).empty());
  REQUIRE(message.traveller() != nullptr);
  REQUIRE(message.traveller()->frames.size() == 1);
  const TravellerFrame& frame = message.traveller()->frames[0];
  CHECK(frame.kind == FrameKind::road_sign);
  CHECK_FALSE(frame.year);
  CHECK(frame.duration == lasts_for_ever);
  CHECK(frame.content == ContentKind::speed_limit);
  CHECK(frame.phrases == std::vector<Phrase>{12569, 8720});
  REQUIRE(frame.regions.size() == 1);
  CHECK(frame.regions[0].circle == Circle{{374556439, -1219169661, std::nullopt}, 50, 3});
}

TEST_CASE("the published SPAT is read whole") {
  const Message message = message_of(signals);
  CHECK(message.id == spat_id);
  CHECK(flaws_of(message).empty());
  REQUIRE(message.spat() != nullptr);
  REQUIRE(message.spat()->intersections.size() == 1);
}

TEST_CASE("a payload that ends at any octet before its end is truncated, and nothing else") {
  for (const std::string& hex : {std::string("0012020000"), least_map, speed_limit, signals}) {
    const std::string whole = *smi::from_hex(hex);
    for (std::size_t size = 0; size < whole.size(); ++size) {
      const Message message = read_message(whole.substr(0, size));
      INFO(hex << " cut to " << size);
      REQUIRE(message.flaws.size() == 1);
      CHECK(message.flaws[0].kind == Flaw::Kind::truncated);
    }
  }
}

TEST_CASE("a message that is cut within its frame is told from a frame that is cut") {
  const std::string body = least_map.substr(6, 40);
  CHECK(flaws_of(message_of("001214" + body)) ==
        Flaws{"truncated: it ends in intersection 1 of 1: lane 1 of 1: lane id"});
  const Message cut = message_of("00121f" + body);
  REQUIRE(cut.flaws.size() == 1);
  CHECK(cut.flaws[0].kind == Flaw::Kind::truncated);
  CHECK(cut.flaws[0].text.substr(0, 55) == "its frame says 31 octets, 20 are there; it ends in inte");
}

TEST_CASE("octets behind a message are told apart: within its frame or behind it") {
  CHECK(flaws_of(message_of("00120200000000")) == Flaws{"trailing: 2 octets behind the message"});
  CHECK(flaws_of(message_of("001203000000")) ==
        Flaws{"trailing: 1 octet behind the message, within its frame"});
  CHECK(flaws_of(message_of(speed_limit.substr(0, speed_limit.size() - 1) + "1")) ==
        Flaws{"malformed: the bits that fill the last octet are not zero"});
}

// At most 2302 octets: both RSU standards, after IEEE 1609.3.
TEST_CASE("a payload of more octets than may be sent is too long, whatever it says") {
  const auto kinds = [](std::size_t size) {
    std::vector<Flaw::Kind> all;
    for (const Flaw& flaw :
         read_message(std::string("\0\x12\x02\0\0", 5) + std::string(size - 5, '\0')).flaws) {
      all.push_back(flaw.kind);
    }
    return all;
  };
  CHECK(kinds(2302) == std::vector{Flaw::Kind::trailing});
  CHECK(kinds(2303) == std::vector{Flaw::Kind::too_long, Flaw::Kind::trailing});
}

TEST_CASE("a latitude that the standard does not have is told, and what stands behind it is not read") {
  std::string hex = least_map;
  hex.replace(24, 8, "3fffffff");
  const Message message = message_of(hex);
  REQUIRE(message.flaws.size() == 1);
  CHECK(message.flaws[0].kind == Flaw::Kind::malformed);
  CHECK(message.flaws[0].text.find("intersection 1 of 1: latitude") != std::string::npos);
  CHECK(message.content.index() == 0);
}

TEST_CASE("of a message of another kind the kind is told and no more") {
  const Message message = message_of("001d0100");
  CHECK(message.id == 29);
  CHECK(message.content.index() == 0);
  CHECK(message.flaws.empty());
  CHECK(message_kind_name(29) == "signal request (SRM)");
  CHECK(message_kind_name(17) == "message 17");
  CHECK(message_kind_name(33) == "message 33");
}

// X.691 19.7 to 19.9: the extension bit, then behind the root fields a count less one in 7 bits, a bit an
// addition, each addition an open type. One addition of one octet behind a MAP without fields.
TEST_CASE("additions of a later version are passed over") {
  // 1 | 00000000 | 0000101 (revision 5) | 0000000 (one addition) | 1 | 00000001 (one octet) | ffh | padding
  const Message message = message_of("00120580050101fe");
  INFO((message.flaws.empty() ? "" : message.flaws[0].text));
  CHECK(message.flaws.empty());
  CHECK(message.map()->revision == 5);
}

// IEEE 1609.2 in COER (from memory): version 3, signed data, SHA-256, a payload of unsecured data.
TEST_CASE("a message that was signed beforehand is read within its envelope") {
  const Message message = message_of(
      "03810040038005"
      "0012020000"
      "40017b00");
  CHECK(message.envelope == "signed data of IEEE 1609.2");
  CHECK(message.id == map_id);
  CHECK(message.flaws.empty());
  const Message sealed = message_of("038200");
  CHECK_FALSE(sealed.id);
  CHECK(sealed.envelope == "data of IEEE 1609.2 that is not readable without a key");
}
