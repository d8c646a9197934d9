#include "smi/wire.h"

using namespace vergeset::smi;

namespace {

constexpr std::string_view psid = "Psid (SIZE(1..4))";

std::string encoded(std::uint32_t number) {
  const auto octets = p_encode(number);
  return octets ? to_hex(*octets) : octets.problem();
}

}  // namespace

TEST_CASE("P-encoding has the edges of IEEE 1609.3") {
  const std::vector<std::pair<std::uint32_t, std::string>> edges{
      {0x00, "00"},       {0x7f, "7f"},         {0x80, "8000"},         {0x407f, "bfff"},
      {0x4080, "c00000"}, {0x20407f, "dfffff"}, {0x204080, "e0000000"}, {0x1020407f, "efffffff"}};
  for (const auto& [number, hex] : edges) {
    CHECK(encoded(number) == hex);
    CHECK(*p_decode(octets_of(hex)) == number);
  }
  CHECK_FALSE(p_encode(0x10204080));
  CHECK_FALSE(p_encode(0xffffffff));
}

TEST_CASE("the published PSIDs are P-encoded as RSU 4.1 lists them") {
  // RSU 4.1 MIB, RsuPsidTC, after IEEE 1609.12-2016: BSM, TIM, WSA, IP routing
  CHECK(words(psid, "20") == "0x20");
  CHECK(wire(psid, "p8003") == "8003");
  CHECK(words(psid, "8003") == "0x83");
  CHECK(words(psid, "8007") == "0x87");
  CHECK(wire(psid, "0x87") == "8007");
  CHECK(words(psid, "effffffe") == "0x1020407e");
  CHECK(wire(psid, "0x1020407e") == "effffffe");
}

TEST_CASE("the PSIDs of intersection messages are P-encoded") {
  // IEEE 1609.12 allocations, from memory: MAP and SPaT safety, MAP, SRM, SSM
  CHECK(wire(psid, "0x82") == "8002");
  CHECK(wire(psid, "0x204097") == "e0000017");
  CHECK(wire(psid, "0x204096") == "e0000016");
  CHECK(wire(psid, "0x204095") == "e0000015");
}

TEST_CASE("a PSID may be written in hex, in decimal or P-encoded") {
  for (const char* text : {"0x82", "0X82", "130", "p8002", "P8002", " 130 "})
    CHECK(wire(psid, text) == "8002");
}

TEST_CASE("what is no PSID is refused") {
  for (const char* text : {"", "x82", "-1", "0x10204080", "99999999999999999999", "p", "p80", "p800200",
                           "pff", "pf0000000", "p8", "0x", "82h", "none"}) {
    INFO(text);
    CHECK(refused(psid, text));
  }
  CHECK(wire(psid, "MAP") == "refused: expected a PSID such as 0x82, 130 or p8002 (P-encoded), found MAP");
  CHECK(wire(psid, "0x10204080") == "refused: expected a PSID from 0 to 0x1020407f, found 0x10204080");
}

TEST_CASE("the size of a PSID is that of its P-encoding") {
  CHECK(wire("Psid (SIZE(1))", "0x7f") == "7f");
  CHECK(wire("Psid (SIZE(1))", "0x80") == "refused: expected Psid (SIZE(1)), found 2 octets in 0x80");
}

TEST_CASE("no PSID at all is written as none where the size allows it") {
  // NTCIP 1218 v01, rsuMessageCountsByPsidId: empty counts any PSID
  CHECK(wire("Psid (SIZE(0..4))", "none").empty());
  CHECK(words("Psid (SIZE(0..4))", "") == "none");
}

TEST_CASE("octets that are no PSID are shown in a way that cannot be read as one") {
  for (const char* hex : {"ff", "80", "800200", "20ff", "f000000000"}) {
    const std::string text = words(psid, hex);
    INFO(text);
    CHECK(text == std::string("p") + hex);
    CHECK(refused(psid, text));
    CHECK_FALSE(p_decode(octets_of(hex)));
    CHECK(violation(syntax_of(psid), octets_value(hex)));
  }
  CHECK_FALSE(p_decode(""));
}
