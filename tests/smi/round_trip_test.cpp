#include "smi/wire.h"

using namespace vergeset::smi;

namespace {

struct Trip {
  const char* notation;
  std::vector<const char*> texts;  ///< as to_text spells them
};

/// The syntaxes of NTCIP 1218 v01, RSU 4.1 and the system group, each once, in the notation of the
/// model files. An OCTET STRING whose definition tells more stands under that form.
const std::vector<Trip> trips{
    {"Integer32", {"-2147483648", "0", "2147483647"}},
    {"Integer32 (-1800000000..1800000000)", {"-1800000000", "1800000000"}},
    {"Integer32 (-1800000000..1800000001)", {"-1800000000", "1800000001"}},
    {"Integer32 (-900000000..900000000)", {"-900000000", "900000000"}},
    {"Integer32 (-900000000..900000001)", {"-900000000", "900000001"}},
    {"Integer32 (-100000..1000000)", {"-100000", "1000000"}},
    {"Integer32 (-100000..1000001)", {"-100000", "1000001"}},
    {"Integer32 (-128..127)", {"-128", "127"}},
    {"Integer32 (-101..100)", {"-101", "100"}},
    {"Integer32 (-100..100)", {"-100", "100"}},
    {"Integer32 (-100..-60)", {"-100", "-60"}},
    {"Integer32 (0..1)", {"0", "1"}},
    {"Integer32 (0..10)", {"0", "10"}},
    {"Integer32 (0..15)", {"0", "15"}},
    {"Integer32 (0..63)", {"0", "63"}},
    {"Integer32 (0..100)", {"0", "100"}},
    {"Integer32 (0..127)", {"0", "127"}},
    {"Integer32 (0..128)", {"0", "128"}},
    {"Integer32 (0..255)", {"0", "255"}},
    {"Integer32 (0..361)", {"0", "361"}},
    {"Integer32 (0..1440)", {"0", "1440"}},
    {"Integer32 (0..2001)", {"0", "2001"}},
    {"Integer32 (0..3600)", {"0", "3600"}},
    {"Integer32 (0..8736)", {"0", "8736"}},
    {"Integer32 (0..18000)", {"0", "18000"}},
    {"Integer32 (0..20000)", {"0", "20000"}},
    {"Integer32 (0..20001)", {"0", "20001"}},
    {"Integer32 (0..32767)", {"0", "32767"}},
    {"Integer32 (0..65535)", {"0", "65535"}},
    {"Integer32 (0..200001)", {"0", "200001"}},
    {"Integer32 (0..2147483647)", {"0", "2147483647"}},
    {"Integer32 (1..9)", {"1", "9"}},
    {"Integer32 (1..16)", {"1", "16"}},
    {"Integer32 (1..40)", {"1", "40"}},
    {"Integer32 (1..48)", {"1", "48"}},
    {"Integer32 (1..100)", {"1", "100"}},
    {"Integer32 (1..127)", {"1", "127"}},
    {"Integer32 (1..255)", {"1", "255"}},
    {"Integer32 (1..18000)", {"1", "18000"}},
    {"Integer32 (1..2000000)", {"1", "2000000"}},
    {"Integer32 (1..2147483647)", {"1", "2147483647"}},
    {"Integer32 (172..184)", {"172", "184"}},
    {"Integer32 (1024..65535)", {"1024", "65535"}},
    {"INTEGER { off(0), on(1) }", {"off", "on"}},
    {"INTEGER { cont(0), alt(1) }", {"cont", "alt"}},
    {"INTEGER { tcp(1), udp(2) }", {"tcp", "udp"}},
    {"INTEGER { other(1), udp(2) }", {"other", "udp"}},
    {"INTEGER { other(1), dsrc(2), pC5(3) }", {"other", "dsrc", "pC5"}},
    {"INTEGER { other(1), unknown(2), cont(3), alt(4), immediate(5) }", {"unknown", "immediate"}},
    {"INTEGER { other(1), none(2), waas(3) }", {"none", "waas"}},
    {"INTEGER { inbound(1), outbound(2), both(3) }", {"inbound", "both"}},
    {"INTEGER { inbound(1), outbound(2), biSeparate(3), biCombined(4) }", {"biSeparate", "biCombined"}},
    {"INTEGER { other(0), unknown(1), notEnrolled(2), enrolled(3) }", {"other", "enrolled"}},
    {"INTEGER { other(1), scms(2), manual(3) }", {"scms", "manual"}},
    {"INTEGER { other(1), valid(2), notValid(3), future(4) }", {"valid", "notValid"}},
    {"INTEGER { both(0), slot0(1), slot1(2), notUsed(3) }", {"both", "slot0", "slot1"}},
    {"INTEGER { noFilter(1), vehicleType(2), vehicleClass(3) }", {"noFilter", "vehicleClass"}},
    {"INTEGER { other(1), unknown(2), rejected(3), rollback(4), processing(5), success(6) }", {"rollback"}},
    {"INTEGER { emergency(0), alert(1), critical(2), error(3), warning(4), notice(5), info(6), debug(7) }",
     {"emergency", "debug"}},
    {"INTEGER { other(1), unknown(2), progressing(3), successful(4), outOfRange(5), badFilename(6) }",
     {"outOfRange"}},
    {"INTEGER { bothOp(0), altOp(1), contOp(2), noneOp(3) }", {"bothOp", "noneOp"}},
    {"INTEGER { other(1), standby(2), operate(3) }", {"standby", "operate"}},
    {"INTEGER { other(1), standby(2), operate(3), fault(4) }", {"fault"}},
    {"INTEGER { standby(2), operate(4), off(16) }", {"standby", "operate", "off"}},
    {"INTEGER { other(1), crystal(2), gnss(3), ntp(4) }", {"crystal", "ntp"}},
    {"INTEGER { other(1), active(2), pendingUpdate(3) }", {"pendingUpdate"}},
    {"INTEGER { other(1), okay(2), warning(3), critical(4), unknown(5) }", {"okay", "unknown"}},
    {"INTEGER { other(1), onStartup(2), notStartup(3) }", {"onStartup", "notStartup"}},
    {"INTEGER { started(0), stopped(1) }", {"started", "stopped"}},
    {"INTEGER { monday(1), tuesday(2), wednesday(3), thursday(4), friday(5), saturday(6), sunday(7) }",
     {"monday", "sunday"}},
    {"INTEGER { master(0), slave(1) }", {"master", "slave"}},
    {"INTEGER { independent(0), set(1) }", {"independent", "set"}},
    {"BITS { bypass1609dot2off(0), unsecured(1), stopAfterShortCommLoss(2), stopAfterLongCommLoss(3) }",
     {"none", "unsecured", "bypass1609dot2off stopAfterLongCommLoss"}},
    {"BITS { stopWhenFull(0), deleteWithEntry(1) }", {"none", "stopWhenFull deleteWithEntry"}},
    {"BITS { security(0), wra(1), repeatRate(2), location2D(3), location3D(4), rcpiThreshold(5) }",
     {"none", "security rcpiThreshold"}},
    {"Counter32", {"0", "4294967295"}},
    {"TimeTicks", {"0", "4294967295"}},
    {"RowStatus", {"active", "notInService", "notReady", "createAndGo", "createAndWait", "destroy"}},
    {"OBJECT IDENTIFIER", {"1.0.15628.4.1.6.0"}},
    {"MacAddress", {"02:00:5e:10:00:01", "ff:ff:ff:ff:ff:ff"}},
    {"Psid (SIZE(1..4))", {"0x0", "0x7f", "0x80", "0x20407f", "0x1020407f"}},
    {"Psid (SIZE(0..4))", {"none", "0x82"}},
    {"DateAndTime",
     {"none", "2026-11-01T06:00Z", "2016-12-31T23:59:60Z", "2026-11-01T07:00:01.5+01:00", "0000-01-01T00:00Z",
      "65535-12-31T23:59:60.9-13:59"}},
    {"MinuteStamp", {"none", "2017-10-07T23:34Z"}},
    {"TimeOfDay", {"00:00:00", "23:59:00", "23:59:59"}},
    {"AddressText (SIZE(0..64))", {"none", "127.0.0.1", "2001:db8::1", "::ffff:127.0.0.1"}},
    {"AddressOctets", {"127.0.0.1", "2001:333:22:ef::1", "::"}},
    {"OctetNumber", {"0", "255"}},
    {"OctetNumber (0..128)", {"0", "64", "128"}},
    {"OCTET STRING (SIZE(0..31))", {"none", "00", "0a1bff"}},
    {"OCTET STRING (SIZE(0..255))", {"none", "00"}},
    {"OCTET STRING (SIZE(1..255))", {"00"}},
    {"OCTET STRING (SIZE(0..1024))", {"none", "68747470"}},
    {"OCTET STRING (SIZE(0..2302))", {"none", "0012020000"}},
    {"DisplayString", {"", "eth0", "a:\\b \"c\" \\x0a"}},
    {"DisplayString (SIZE(0..32))", {"", "LK-101"}},
    {"DisplayString (SIZE(0..64))", {"", "none"}},
    {"DisplayString (SIZE(0..100))", {"eth0.100"}},
    {"DisplayString (SIZE(0..127))", {"eth0"}},
    {"DisplayString (SIZE(0..128))", {" blanks are kept "}},
    {"DisplayString (SIZE(0..140))", {"Larkmoor, Mill Road and Fen Lane"}},
    {"DisplayString (SIZE(0..144))", {"radio 1"}},
    {"DisplayString (SIZE(0..255))", {"0x82"}},
    {"DisplayString (SIZE(0..1024))", {"https://tmc.example/"}},
    {"DisplayString (SIZE(1..127))", {"a"}},
    {"DisplayString (SIZE(1..255))", {"/var/log"}},
    {"DisplayString (SIZE(12..172))", {"twelve chars"}},
};

}  // namespace

TEST_CASE("every syntax of both standards travels from text to the wire and back") {
  for (const Trip& trip : trips) {
    const Syntax syntax = syntax_of(trip.notation);
    CHECK(syntax.str() == trip.notation);
    for (const char* text : trip.texts) {
      INFO(trip.notation << " " << text);
      const auto value = encode(syntax, text);
      if (!value) FAIL(value.problem());
      CHECK(value->type == syntax.wire());
      CHECK(to_text(syntax, *value) == text);
      CHECK(violation(syntax, *value).value_or("") == "");
      CHECK(agree(syntax, *value, *value));
      CHECK(*from_exact_text(value->type, exact_text(*value)) == *value);
    }
  }
}

TEST_CASE("one beyond the ends of a range does not travel") {
  for (const Trip& trip : trips) {
    const Syntax syntax = syntax_of(trip.notation);
    if (syntax.form != Form::integer && syntax.form != Form::octet_number) continue;
    if (syntax.ranges.empty()) continue;
    INFO(trip.notation);
    CHECK_FALSE(encode(syntax, std::to_string(syntax.ranges.front().low - 1)));
    CHECK_FALSE(encode(syntax, std::to_string(syntax.ranges.back().high + 1)));
  }
}
