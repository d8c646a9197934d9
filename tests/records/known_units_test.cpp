#include "records/known_units.h"

#include "catch.h"
#include "support/memory_disk.h"

using vergeset::records::KnownUnits;
using vergeset::test::MemoryDisk;

namespace {

const std::string first("\x80\x00\x1f\x88\x04 LK-101", 13);
const std::string other("\x80\x00\x1f\x88\x04 LK-999", 13);
const std::string certificate = "sha256:" + std::string(64, 'a');
const std::string other_certificate = "sha256:" + std::string(64, 'b');
const std::string noon = "2026-11-25T12:00:00.000Z";
const std::string later = "2026-11-26T12:00:00.000Z";
const std::string file = "known-units.jsonl";

MemoryDisk after_first_contact() {
  MemoryDisk disk;
  KnownUnits known = KnownUnits::read(disk);
  known.met(disk, "LK-101", {first, {}}, noon);
  known.keep(disk);
  return disk;
}

}  // namespace

TEST_CASE("the engine of a unit that was met is expected from then on") {
  MemoryDisk disk = after_first_contact();
  const KnownUnits known = KnownUnits::read(disk);
  CHECK(known.expected("LK-101") == first);
  CHECK(known.find("LK-101") == KnownUnits::Known{first, noon, {}, {}, {}});
  CHECK_FALSE(known.expected("LK-102"));
}

TEST_CASE("another engine does not become the unit's by being met") {
  MemoryDisk disk = after_first_contact();
  KnownUnits known = KnownUnits::read(disk);
  known.met(disk, "LK-101", {other, {}}, later);
  known.keep(disk);
  CHECK(KnownUnits::read(disk).expected("LK-101") == first);
}

TEST_CASE("a replacement that is accepted is on disk at once, with who accepted it and in place of what") {
  MemoryDisk disk = after_first_contact();
  KnownUnits known = KnownUnits::read(disk);
  known.accept({"LK-101"}, "ops@desk");
  CHECK_FALSE(known.expected("LK-101"));
  known.met(disk, "LK-101", {other, {}}, later);
  CHECK(known.replaced("LK-101") == first);
  CHECK(known.expected("LK-101") == other);
  CHECK(KnownUnits::read(disk).find("LK-101") == KnownUnits::Known{other, later, "ops@desk", {}, {}});
  CHECK(disk.files[file].find("\"was\":\"80001f8804204c4b2d313031") != std::string::npos);
}

TEST_CASE("what is accepted is one replacement, not whatever answers in the rest of the run") {
  MemoryDisk disk = after_first_contact();
  KnownUnits known = KnownUnits::read(disk);
  known.accept({"LK-101"}, "ops@desk");
  known.met(disk, "LK-101", {other, {}}, later);
  known.met(disk, "LK-101", {"a third one", {}}, later);
  CHECK(known.expected("LK-101") == other);
}

TEST_CASE("accepting one unit's replacement accepts no other's") {
  MemoryDisk disk = after_first_contact();
  KnownUnits known = KnownUnits::read(disk);
  known.accept({"LK-102"}, "ops@desk");
  CHECK(known.expected("LK-101") == first);
}

TEST_CASE(
    "wherever a power cut tears the file, units of earlier lines stay known and later ones can be added") {
  MemoryDisk whole = after_first_contact();
  const std::size_t first_line = whole.files[file].size();
  {
    KnownUnits known = KnownUnits::read(whole);
    known.met(whole, "LK-102", {other, {}}, later);
    known.keep(whole);
  }
  for (std::size_t size = first_line; size < whole.files[file].size(); ++size) {
    MemoryDisk torn;
    torn.files[file] = whole.files[file].substr(0, size);
    KnownUnits known = KnownUnits::read(torn);
    CHECK(known.expected("LK-101") == first);
    known.met(torn, "LK-103", {other, {}}, later);
    known.keep(torn);
    const KnownUnits again = KnownUnits::read(torn);
    CHECK(again.expected("LK-101") == first);
    CHECK(again.expected("LK-103") == other);
  }
}

TEST_CASE("a torn line of an accepted replacement leaves the unit as it was known") {
  MemoryDisk disk = after_first_contact();
  KnownUnits known = KnownUnits::read(disk);
  known.accept({"LK-101"}, "ops@desk");
  known.met(disk, "LK-101", {other, {}}, later);
  std::string& text = disk.files[file];
  text.resize(text.size() - 10);
  const KnownUnits again = KnownUnits::read(disk);
  CHECK(again.expected("LK-101") == first);
  CHECK(again.unreadable() == 1);
}

TEST_CASE("two runs that each met other units keep both, and a first contact never undoes an acceptance") {
  MemoryDisk disk;
  KnownUnits one = KnownUnits::read(disk);
  KnownUnits two = KnownUnits::read(disk);
  one.met(disk, "LK-101", {first, {}}, noon);
  two.met(disk, "LK-102", {other, {}}, noon);
  two.met(disk, "LK-101", {other, {}}, noon);
  one.keep(disk);
  two.keep(disk);
  const KnownUnits known = KnownUnits::read(disk);
  CHECK(known.expected("LK-101") == first);
  CHECK(known.expected("LK-102") == other);
}

TEST_CASE("the certificate of a unit that was met by one is expected from then on") {
  MemoryDisk disk;
  KnownUnits known = KnownUnits::read(disk);
  known.met(disk, "LK-101", {first, certificate}, noon);
  known.keep(disk);
  known = KnownUnits::read(disk);
  CHECK(known.expected_certificate("LK-101") == certificate);
  CHECK(known.expected_certificate("LK-102").empty());
  known.met(disk, "LK-101", {first, other_certificate}, later);
  known.keep(disk);
  CHECK(KnownUnits::read(disk).expected_certificate("LK-101") == certificate);
}

TEST_CASE("a unit that was met by a user is known by its certificate too once it shows one") {
  MemoryDisk disk = after_first_contact();
  KnownUnits known = KnownUnits::read(disk);
  known.met(disk, "LK-101", {other, certificate}, later);  // a stranger's
  CHECK(known.expected_certificate("LK-101").empty());
  known.met(disk, "LK-101", {first, certificate}, later);
  known.keep(disk);
  CHECK(KnownUnits::read(disk).find("LK-101") == KnownUnits::Known{first, noon, {}, certificate, later});
}

TEST_CASE("a unit that tells no engine is known by its certificate alone, and by both once it tells one") {
  MemoryDisk disk;
  KnownUnits known = KnownUnits::read(disk);
  known.met(disk, "LK-101", {{}, certificate}, noon);
  known.keep(disk);
  known = KnownUnits::read(disk);
  CHECK(known.unreadable() == 0);
  CHECK_FALSE(known.expected("LK-101"));
  CHECK(known.expected_certificate("LK-101") == certificate);
  known.met(disk, "LK-101", {first, certificate}, later);
  known.keep(disk);
  CHECK(KnownUnits::read(disk).find("LK-101") == KnownUnits::Known{first, later, {}, certificate, noon});
}

TEST_CASE(
    "another certificate that is accepted is on disk at once, in place of what, and the unit's from then "
    "on") {
  MemoryDisk disk;
  KnownUnits known = KnownUnits::read(disk);
  known.met(disk, "LK-101", {first, certificate}, noon);
  known.keep(disk);
  known.accept({"LK-101"}, "ops@desk");
  CHECK(known.expected_certificate("LK-101").empty());
  known.met(disk, "LK-101", {first, other_certificate}, later);
  CHECK_FALSE(known.replaced("LK-101"));  // the engine is the same
  known.met(disk, "LK-101", {first, certificate}, later);
  known = KnownUnits::read(disk);
  CHECK(known.find("LK-101") == KnownUnits::Known{first, later, "ops@desk", other_certificate, later});
  CHECK(disk.files[file].find("\"was_certificate\":\"" + certificate) != std::string::npos);
}

TEST_CASE("a replacement that was accepted without a certificate is not held against the old unit's") {
  MemoryDisk disk;
  KnownUnits known = KnownUnits::read(disk);
  known.met(disk, "LK-101", {first, certificate}, noon);
  known.keep(disk);
  known.accept({"LK-101"}, "ops@desk");
  known.met(disk, "LK-101", {other, {}}, later);
  CHECK(known.expected_certificate("LK-101").empty());
  CHECK(KnownUnits::read(disk).expected_certificate("LK-101").empty());
}

TEST_CASE("lines that are not ours are passed over and counted") {
  MemoryDisk disk = after_first_contact();
  disk.files[file] += "[]\n{\"unit\":\"LK-101\",\"engine\":\"\",\"at\":\"" + noon +
                      "\",\"how\":\"accepted replacement\",\"who\":\"x\"}\n"
                      "{\"unit\":\"LK-101\",\"engine\":\"00ff\",\"at\":\"soon\",\"how\":\"first contact\"}\n"
                      "{\"unit\":\"LK-101\",\"engine\":\"00ff\",\"at\":\"" +
                      noon +
                      "\",\"how\":\"accepted replacement\"}\n"
                      "{\"unit\":\"LK-102\",\"certificate\":\"sha256:00\",\"at\":\"" +
                      noon + "\",\"how\":\"first contact\"}\n";
  const KnownUnits known = KnownUnits::read(disk);
  CHECK(known.expected("LK-101") == first);
  CHECK(known.unreadable() == 5);
}

TEST_CASE("a unit without an engine, as over SNMPv2c, is not remembered by one") {
  MemoryDisk disk;
  KnownUnits known = KnownUnits::read(disk);
  known.met(disk, "LK-101", {"", {}}, noon);
  known.keep(disk);
  CHECK_FALSE(known.expected("LK-101"));
  CHECK(disk.files.empty());
}
