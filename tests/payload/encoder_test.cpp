#include <string>

#include "catch.h"
#include "map_message.h"
#include "traveller_message.h"

using namespace vergeset::payloads;

namespace {

std::string hex(const std::string& octets) {
  std::string text;
  for (const char c : octets) {
    constexpr const char* digits = "0123456789abcdef";
    text += digits[static_cast<unsigned char>(c) >> 4U];
    text += digits[static_cast<unsigned char>(c) & 15U];
  }
  return text;
}

Lane plain_lane(std::vector<Node> nodes) {
  Lane lane;
  lane.nodes = std::move(nodes);
  return lane;
}

}  // namespace

// Published UPER sample messages of a connected-vehicle certification body, 2017.
TEST_CASE("a MAP with nothing but its revision is the published one") {
  CHECK(hex(encode(Map{})) == "0012020000");
}

// The same source: revision 0, one intersection, id 0, revision 0, latitude -900000000, longitude
// -1799999999. The lane with two nodes at the least offset is what the rest of its zeros say.
TEST_CASE("a MAP with the least of every value is the published one") {
  Intersection at;
  at.position = {-900000000, -1799999999, std::nullopt};
  at.lanes = {plain_lane({{-512, -512}, {-512, -512}})};
  const Map map{0, 0, {at}};
  CHECK(hex(encode(map)) == "00121f48" + std::string(60, '0'));
}

// The same source. 12569 and 8720 are ITIS codes: 25 and mph (from memory).
TEST_CASE("a speed limit within a circle is the published traveller information") {
  Traveller notice;
  notice.frame = FrameType::road_signage;
  notice.region = Circle{{374556439, -1219169661, std::nullopt}, 50};
  notice.content = ContentType::speed_limit;
  notice.phrases = {12569, 8720};
  CHECK(hex(encode(notice)) == "001f200000008000000001f4000000220000025fc180b914f6241019300188c4644420");
}

// X.691 11.9: a length of 128 and more takes two octets, the first beginning with the bits 10.
TEST_CASE("a message of 128 octets has its length in two octets") {
  CHECK(hex(message_frame(18, std::string(127, '\0'))).substr(0, 8) == "00127f00");
  CHECK(hex(message_frame(18, std::string(128, '\0'))).substr(0, 8) == "00128080");
  CHECK(hex(message_frame(18, std::string(600, '\0'))).substr(0, 8) == "00128258");
}

// The bounds of Node-XY-20b to 32b are from memory; tshark reads the same, map_check.cpp.
TEST_CASE("a node takes the narrowest form that it fits in") {
  const auto bits_of = [](std::int64_t east, std::int64_t north) {
    Bits bits;
    put_nodes(bits, {{east, north}, {0, 0}});
    return bits.octets();
  };
  const auto form = [&](std::int64_t east, std::int64_t north) {
    // extension, choice and count take 8 bits, the node's preamble 2, then the form.
    return (static_cast<unsigned char>(bits_of(east, north).at(1)) >> 3U) & 7U;
  };
  CHECK(form(511, -512) == 0);
  CHECK(form(512, 0) == 1);
  CHECK(form(0, -513) == 1);
  CHECK(form(-1024, 1023) == 1);
  CHECK(form(0, 1024) == 2);
  CHECK(form(2047, 2048) == 3);
  CHECK(form(-4097, 0) == 4);
  CHECK(form(8192, 0) == 5);
  CHECK(form(-32768, 32767) == 5);
  CHECK_THROWS_WITH(bits_of(32768, 0), Catch::Matchers::Contains("327 m is the most"));
}

TEST_CASE("a value out of its bounds makes no message and is named") {
  Map map{std::nullopt, 0, {Intersection{}}};
  map.intersections[0].lanes = {plain_lane({{0, 0}, {0, 100}})};
  map.revision = 128;
  CHECK_THROWS_WITH(encode(map), "msgIssueRevision is 128, and must be 0 to 127");
  map.revision = 0;
  map.intersections[0].id = 65536;
  CHECK_THROWS_WITH(encode(map), "id is 65536, and must be 0 to 65535");
  map.intersections[0].id = 1;
  map.intersections[0].lanes[0].nodes.pop_back();
  CHECK_THROWS_WITH(encode(map), "nodes is 1, and must be 2 to 63");
  map.intersections[0].lanes.clear();
  CHECK_THROWS_WITH(encode(map), "lanes is 0, and must be 1 to 255");
}

TEST_CASE("a sign of more than 16 characters makes no message, advice does") {
  Traveller notice;
  notice.region = Circle{};
  notice.phrases = {std::string(17, 'x')};
  notice.content = ContentType::work_zone;
  CHECK_THROWS_WITH(encode(notice), "length of text is 17, and must be 1 to 16");
  notice.content = ContentType::advisory;
  CHECK_NOTHROW(encode(notice));
}
