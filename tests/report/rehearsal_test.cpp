#include "report/rehearsal.h"

#include <sstream>

#include "catch.h"

using namespace vergeset;
using change::Rehearsal;
using change::Unknown;

namespace {

Rehearsal passed(const std::string& unit, std::vector<Unknown> unknown = {}) {
  return {unit, "", 7, true, true, true, std::chrono::milliseconds(1640), std::move(unknown)};
}

Rehearsal failed() {
  return {"LK-108",
          "step 3 of 7, make store-and-repeat map (row 1): rsuMsgRepeatStatus.1 = createAndGo(4): "
          "inconsistentValue",
          7,
          false,
          false,
          false,
          std::chrono::milliseconds(250),
          {}};
}

const Unknown no_row{Unknown::Kind::rows_untried, {"interface-logs", "store-and-repeat"}};
const Unknown silent{Unknown::Kind::not_answered, {"rsuHostIpAddr"}};

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("rehearsals are told unit by unit, what failed with its reason, what was not reached as that") {
  report::Screen screen;
  screen.width = 80;
  const std::string text = report::rehearsal_text(screen, {passed("LK-101"), failed()});
  CHECK(has(text, "rehearsed 2 units on twins: 1 passed, 1 failed\n"));
  CHECK(has(text, "  LK-101   7       yes        yes           yes           1.6 s\n"));
  CHECK(has(text, "  LK-108   7       no         not reached   not reached   0.2 s\n"));
  CHECK(has(text, "inconsistentValue"));
  CHECK(has(text, "gets no SET"));
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) CHECK(line.size() <= 80);
}

TEST_CASE("what twins could not know is told once, with the units that it holds for") {
  report::Screen screen;
  screen.width = 80;
  const std::string text = report::rehearsal_text(
      screen, {passed("LK-101", {silent, no_row}), passed("LK-102", {no_row}), passed("LK-103", {no_row})});
  CHECK(has(text, "    interface-logs, store-and-repeat: all of them\n"));
  CHECK(has(text, "    rsuHostIpAddr: LK-101\n"));
  // What no twin knows is there whatever the units hold.
  CHECK(has(report::rehearsal_text(screen, {passed("LK-101")}), "of any unit: how long it takes between"));
}

TEST_CASE("of a lone unit the names stand alone, and many names are counted unless all are asked for") {
  std::vector<std::string> names;
  for (int i = 10; i < 30; ++i) names.push_back("rsuObject" + std::to_string(i));
  report::Screen screen;
  const std::vector<Rehearsal> one{passed("LK-101", {{Unknown::Kind::not_answered, names}})};
  CHECK(has(report::rehearsal_text(screen, one), "rsuObject17 and 12 more\n"));
  screen.full = true;
  CHECK(has(report::rehearsal_text(screen, one), "rsuObject29\n"));
}

TEST_CASE("where all passed, nothing is said of failing") {
  CHECK_FALSE(has(report::rehearsal_text({}, {passed("LK-101")}), "gets no SET"));
}

TEST_CASE("nothing rehearsed, nothing told") {
  CHECK(report::rehearsal_text({}, {}).empty());
  CHECK(report::rehearsal_json({})["units"].empty());
}

TEST_CASE("the document of a rehearsal has each unit's parts and what is not known by kind") {
  const report::Json told = report::rehearsal_json({passed("LK-101", {silent}), failed()});
  const report::Json& first = told["units"][0];
  CHECK(first["unit"] == "LK-101");
  CHECK(first["passed"] == true);
  CHECK(first["took_ms"] == 1640);
  CHECK(first["unknown"][0]["kind"] == "not answered");
  CHECK(first["unknown"][0]["names"][0] == "rsuHostIpAddr");
  CHECK(told["units"][1]["passed"] == false);
  CHECK(has(told["units"][1]["what"], "step 3 of 7"));
  CHECK(told["never_known"].size() >= 4);
}
