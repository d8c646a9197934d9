#include "smi/suggest.h"

#include "catch.h"

using namespace vergeset::smi;

TEST_CASE("a word up to two letters off is found") {
  const std::vector<std::string> names{"notify-address", "notify-port", "rsuMode", "rsuModeStatus"};
  CHECK(nearest("notify-adress", names) == "notify-address");    // a letter left out
  CHECK(nearest("notify-addresss", names) == "notify-address");  // one too many
  CHECK(nearest("notify-pört", names) == "notify-port");         // two octets for one
  CHECK(nearest("notfiy-port", names) == "notify-port");         // neighbours swapped
  CHECK(nearest("ntoify-prot", names) == "notify-port");         // twice
  CHECK(nearest("rsuMod", names) == "rsuMode");
  CHECK(nearest("rsuModeStat", names) == "rsuModeStatus");
  CHECK(nearest("rsuModeSta", names).empty());
  CHECK(nearest("gateway", names).empty());
}

TEST_CASE("a word that is alike but for case and dashes is found") {
  const std::vector<std::string> names{"notify-address", "rsuMode"};
  CHECK(nearest("NotifyAddress", names) == "notify-address");
  CHECK(nearest("notify_address", names) == "notify-address");
  CHECK(nearest("RSU-MODE", names) == "rsuMode");
}

TEST_CASE("of two equally near words none is suggested") {
  CHECK(nearest("rsuChX", {"rsuCh1", "rsuCh2"}).empty());
  CHECK(nearest("rsuCh1", {"rsuCh1", "rsuCh2"}) == "rsuCh1");
  CHECK(nearest("rsuChX", {"rsuCh1", "rsuCh1"}) == "rsuCh1");
  CHECK(nearest("rsuChX", {"rsuCh1", "rsuCh2", "rsuCh"}).empty());
}

TEST_CASE("a short word is not mistaken for one it shares no letter with") {
  CHECK(nearest("xy", {"on"}).empty());
  CHECK(nearest("x", {"a"}).empty());
  CHECK(nearest("onn", {"off", "on"}) == "on");
}

TEST_CASE("nothing is suggested for nothing, or for a flood") {
  CHECK(nearest("", {"a", "ab"}).empty());
  CHECK(nearest("a", {}).empty());
  CHECK(nearest(std::string(1000000, 'a'), {std::string(1000000, 'a')}).empty());
}

TEST_CASE("a suggestion ends a message") {
  CHECK(suggestion("rsuMod", {"rsuMode"}) == "; did you mean rsuMode?");
  CHECK(suggestion("gateway", {"rsuMode"}).empty());
}
