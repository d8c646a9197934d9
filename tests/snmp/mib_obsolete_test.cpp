#include "snmp/mib_obsolete.h"

#include "catch.h"

using namespace vergeset::snmp;

namespace {

const std::string two_modules =
    "A-MIB DEFINITIONS ::= BEGIN\n"
    "gone NOTIFICATION-TYPE OBJECTS { x } STATUS -- was current -- obsolete DESCRIPTION \"\" ::= { a 1 }\n"
    "here NOTIFICATION-TYPE STATUS current -- STATUS obsolete\n"
    "    DESCRIPTION \"STATUS obsolete NOTIFICATION-TYPE STATUS obsolete\" ::= { a 2 }\n"
    "-- lost NOTIFICATION-TYPE STATUS obsolete\n"
    "old OBJECT-TYPE STATUS obsolete ::= { a 3 }\n"
    "END\n"
    "B-MIB DEFINITIONS ::= BEGIN here NOTIFICATION-TYPE STATUS obsolete ::= { b 1 } END\n";

}  // namespace

TEST_CASE("notifications with STATUS obsolete are found, whatever comments and descriptions say") {
  // RFC 2578 8.2; comments by X.208 8.6, which RFC 2578 refers to
  CHECK(obsolete_notifications(two_modules) == std::set<MibName>{{"A-MIB", "gone"}, {"B-MIB", "here"}});
}

TEST_CASE("a text that ends anywhere, or is no MIB, comes to an end") {
  for (std::size_t size = 0; size <= two_modules.size(); ++size) {
    CHECK(obsolete_notifications(two_modules.substr(0, size)).size() <= 2);
  }
  std::string hyphens;
  for (int i = 0; i < 2'000'000; ++i) hyphens += "-- ";
  CHECK(obsolete_notifications(hyphens).empty());
  CHECK(obsolete_notifications(std::string(5'000'000, '-')).empty());
  CHECK(obsolete_notifications(std::string(5'000'000, '"')).empty());
  CHECK(obsolete_notifications(std::string(1000, '\0')).empty());
}
