#include "checks/health.h"

#include "bench.h"
#include "checks/certificates.h"

namespace {

using namespace vergeset;
using test::Bench;
using test::Texts;

/// A unit of NTCIP 1218 that is well.
struct Well : Bench {
  explicit Well(const std::string& more_fleet = "") : Bench("ntcip1218-v01", more_fleet) {
    say("rsuMode", "operate");
    say("rsuModeStatus", "operate");
    say("rsuStatus", "okay");
    for (std::uint32_t row = 1; row <= 10; ++row) say("rsuServiceStatus", "okay", row);
    say("rsuGnssStatus", "9");
    say("rsuGnssLat", "549000000");
    say("rsuGnssLon", "-200000000");
    say("rsuClockSource", "gnss");
    say("rsuClockSourceStatus", "active");
    say("rsuIntTemp", "31");
    say("rsuIntTempLowThreshold", "-20");
    say("rsuIntTempHighThreshold", "60");
    say("rsuSecEnrollCertStatus", "enrolled");
    say("rsuSecEnrollCertExpiration", "2027-11-01T00:00Z");
    say_octets("rsuSecAppCertPsid", "\x80\x02", 1);
    say("rsuSecAppCertState", "valid", 1);
    say("rsuSecAppCertExpiration", "100", 1);
  }
};

TEST_CASE("of a unit that is well there is nothing to tell, and nothing more to read") {
  const Well bench;
  CHECK(bench.texts().empty());
  CHECK(checks::health_details(bench.read()).empty());
}

TEST_CASE("what was not read, or a unit does not offer, is not judged") {
  CHECK(Bench("ntcip1218-v01").texts().empty());
  CHECK(Bench("rsu-4.1").texts().empty());
}

TEST_CASE("a unit that was asked to operate and does not is off air, and standby that was asked for is not") {
  Well bench;
  bench.say("rsuModeStatus", "fault");
  REQUIRE(bench.health().size() == 1);
  CHECK(bench.health().front().text == "asked to operate, is in fault: not on air");
  CHECK(bench.health().front().severity == fleet::Severity::error);
  bench.say("rsuMode", "standby");
  bench.say("rsuModeStatus", "standby");
  CHECK(bench.texts().empty());
}

TEST_CASE("a unit's status, and that of its services, are told in its own words") {
  Well bench;
  bench.say("rsuStatus", "warning");
  bench.say("rsuServiceStatus", "critical", 4);
  CHECK(bench.texts() == Texts{"the unit calls its status warning", "service 4 calls its status critical"});
  const auto details = checks::health_details(bench.read());
  CHECK(details.size() == 3);
  for (const smi::Oid& one : details) CHECK(one.back() == 4);
  bench.say("rsuServiceName", "storage", 4);
  bench.say("rsuServiceStatusDesc", "card is read-only", 4);
  bench.say("rsuServiceStatusTime", "2026-11-24T21:10:00Z", 4);
  CHECK_THAT(bench.texts("service-status").front(),
             Catch::StartsWith("storage calls its status critical: card is read-only, since 2026-11-24"));
}

TEST_CASE("what a service says of itself cannot harm a terminal") {
  Well bench;
  bench.say("rsuServiceStatus", "warning", 1);
  bench.say_octets("rsuServiceStatusDesc", "\x1b]0;owned\x07", 1);
  CHECK(bench.texts().front().find('\x1b') == std::string::npos);
}

TEST_CASE("a clock that runs free, or whose source is not active, is told") {
  Well bench;
  bench.say("rsuClockSource", "crystal");
  bench.say("rsuClockSourceStatus", "pendingUpdate");
  CHECK(bench.texts() ==
        Texts{"its clock goes by crystal; gnss or ntp is wanted", "its clock source is pendingUpdate"});
  bench.say("rsuClockSource", "ntp");
  bench.say("rsuClockSourceStatus", "active");
  CHECK(bench.texts().empty());
}

TEST_CASE("a temperature is held against the unit's own thresholds and the fleet's") {
  Well bench;
  bench.say("rsuIntTemp", "61");
  CHECK(bench.texts() == Texts{"61 degree C inside, above the 60 of the unit's own threshold"});
  bench.say("rsuIntTemp", "-21");
  CHECK(bench.texts() == Texts{"-21 degree C inside, below the -20 of the unit's own threshold"});
  // RSU 4.1 as the FAQ quotes it, and NEMA TS 2: -34 to +74 degree C.
  bench.say("rsuIntTemp", "75");
  CHECK(bench.texts() == Texts{"75 degree C inside, above the 74 of the fleet"});
  bench.say("rsuIntTemp", "-101");  // NTCIP 1218: unknown
  CHECK(bench.texts().empty());
  Well cool("limits: {temperature-high: 30 degC, temperature-low: 0 degC}\n");
  CHECK(cool.texts() == Texts{"31 degree C inside, above the 30 of the fleet"});
}

TEST_CASE("thresholds that a unit was never given do not make it sick") {
  Well bench;
  bench.say("rsuIntTempLowThreshold", "0");
  bench.say("rsuIntTempHighThreshold", "0");
  CHECK(bench.texts().empty());
}

TEST_CASE("a unit that is not enrolled, or whose enrolment ends soon or has ended, is told") {
  Well bench;
  bench.say("rsuSecEnrollCertStatus", "notEnrolled");
  CHECK(bench.texts() == Texts{"the unit's enrolment is notEnrolled"});
  bench.say("rsuSecEnrollCertStatus", "enrolled");
  bench.say("rsuSecEnrollCertExpiration", "2026-12-05T02:00:00Z");
  CHECK_THAT(bench.texts("certificate-ends").front(),
             Catch::StartsWith("its enrolment certificate ends in 10 days"));
  bench.say("rsuSecEnrollCertExpiration", "2026-11-25T01:59:00Z");
  REQUIRE(bench.texts("certificate-over").size() == 1);
  CHECK(bench.health().front().severity == fleet::Severity::error);
  Well calm("limits: {enrolment-left: 1 week}\n");
  calm.say("rsuSecEnrollCertExpiration", "2026-12-05T02:00:00Z");
  CHECK(calm.texts().empty());
}

TEST_CASE("application certificates are judged for each PSID: the best of it, and what follows") {
  // NTCIP 1218 rsuSecAppCertExpiration: 0 is less than an hour left, 255 is expired.
  Well bench;
  const auto has = [&](std::uint32_t row, const char* state, const char* hours) {
    bench.say_octets("rsuSecAppCertPsid", "\x80\x03", row);
    bench.say("rsuSecAppCertState", state, row);
    bench.say("rsuSecAppCertExpiration", hours, row);
  };
  has(2, "valid", "0");
  CHECK(bench.texts() == Texts{"its application certificate for PSID 0x83 ends in less than 1 h, and none "
                               "follows; at least 24 h are wanted"});
  has(3, "future", "100");
  CHECK(bench.texts().empty());
  has(3, "valid", "20");
  CHECK(bench.texts("certificate-ends").size() == 1);
  has(3, "valid", "24");
  CHECK(bench.texts().empty());
  has(2, "notValid", "0");
  has(3, "valid", "255");
  CHECK(bench.texts() == Texts{"no valid application certificate for PSID 0x83: expired"});
}

TEST_CASE("when certificates end is known of those that are good now, the longest of each PSID") {
  // NTCIP 1218 rsuSecAppCertExpiration counts hours from 0 to 254; 255 is expired.
  Well bench;
  const auto has = [&](std::uint32_t row, const char* psid, const char* state, const char* hours) {
    bench.say_octets("rsuSecAppCertPsid", psid, row);
    bench.say("rsuSecAppCertState", state, row);
    bench.say("rsuSecAppCertExpiration", hours, row);
  };
  bench.say("rsuSecEnrollCertExpiration", "2026-12-05T02:00:00Z");
  has(2, "\x80\x03", "valid", "20");
  has(3, "\x80\x03", "valid", "30");
  has(4, "\x80\x02", "valid", "254");
  has(5, "\x80\x01", "valid", "255");
  has(6, "\x80\x01", "future", "90");
  const std::int64_t now = bench.read().now;
  const std::int64_t hour = 3600000;
  CHECK(
      checks::certificate_ends(bench.read()) ==
      std::vector<records::Expiry>{{"enrolment certificate", now + 10 * 24 * hour},
                                   {"application certificate for PSID 0x82", now + 254 * hour, true, true},
                                   {"application certificate for PSID 0x83", now + 30 * hour, false, true}});
  bench.say("rsuSecEnrollCertStatus", "notEnrolled");
  CHECK(checks::certificate_ends(bench.read()).size() == 2);
}

TEST_CASE("how much each rule matters is the fleet's to say") {
  Well bench("severities: {clock-source: ignore, unit-status: error}\n");
  bench.say("rsuClockSource", "crystal");
  bench.say("rsuStatus", "critical");
  REQUIRE(bench.health().size() == 1);
  CHECK(bench.health().front().severity == fleet::Severity::error);
}

TEST_CASE("values of a type that an object does not have are passed over") {
  Well bench;
  for (auto& [oid, value] : bench.values) value = smi::Value::of_oid({1, 3});
  CHECK(bench.texts().empty());
}

}  // namespace
