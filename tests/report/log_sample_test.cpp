#include <fstream>
#include <iterator>

#include "catch.h"
#include "report/history_text.h"

TEST_CASE("logs of units of every version are read line by line") {
  std::ifstream file(SOURCE_DIR "/tests/records/samples/unit-log-1.log", std::ios::binary);
  const auto lines = vergeset::report::read_log({std::istreambuf_iterator<char>(file), {}});
  REQUIRE(lines.size() == 2);
  CHECK(lines[0].is_set());
  CHECK(lines[0].what == "SET rsuMode.0 = standby (2): done");
  CHECK_FALSE(lines[1].is_set());
}
