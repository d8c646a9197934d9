#include "records/scratch_disk.h"

#include "catch.h"
#include "records/change_record.h"
#include "records/journal.h"

using namespace vergeset;

TEST_CASE("a scratch disk gives back what was written to it, and numbers changes as a folder does") {
  records::ScratchDisk disk;
  CHECK(records::take_change_number(disk) == 1);
  CHECK(records::take_change_number(disk) == 2);
  disk.write_whole("changes/0001/change.yaml", "first");
  disk.write_whole("changes/0001/change.yaml", "second");
  disk.append("units/LK-101.log", "one\n", true);
  disk.appender("units/LK-101.log")->append("two\n");
  CHECK(disk.read("changes/0001/change.yaml") == "second");
  CHECK(disk.read("units/LK-101.log") == "one\ntwo\n");
  CHECK_FALSE(disk.read("units/LK-102.log"));
  CHECK(disk.list("changes") == std::vector<std::string>{"0001", "0002"});
  CHECK(disk.list("changes/0001") == std::vector<std::string>{"change.yaml"});
  CHECK(disk.list("audits").empty());
}
