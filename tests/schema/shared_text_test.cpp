#include "schema/shared_text.h"

#include <sstream>

#include "catch.h"
#include "schema/place.h"

using namespace vergeset;

TEST_CASE("copies of a shared text are the one text, as long as any of them lives") {
  SharedText copy;
  CHECK(copy.empty());
  {
    const SharedText text = "groups/corridor-mill-lane.yaml";
    copy = text;
    CHECK(&copy.str() == &text.str());
  }
  CHECK(copy == "groups/corridor-mill-lane.yaml");
  const SharedText moved = std::move(copy);
  CHECK(moved.size() == 30);
  copy = "again";
  CHECK(copy.str() == "again");
}

TEST_CASE("shared texts are compared, joined and shown as texts") {
  const SharedText a = "a";
  const SharedText again = std::string("a");
  const SharedText b = "b";
  CHECK(a == again);
  CHECK(a == std::string("a"));
  CHECK(std::string("a") == a);
  CHECK(a != b);
  CHECK(a < b);
  CHECK(SharedText() < a);
  CHECK("to " + a == "to a");
  CHECK(a + ":1" == "a:1");
  CHECK(fmt::format("{}", a) == "a");
  std::ostringstream shown;
  shown << a;
  CHECK(shown.str() == "a");
}

TEST_CASE("places are ordered by file, line and column") {
  CHECK(Place{"a.yaml", 9, 9} < Place{"b.yaml", 1, 1});
  CHECK(Place{"a.yaml", 1, 9} < Place{"a.yaml", 2, 1});
  CHECK(Place{"a.yaml", 2, 1} < Place{"a.yaml", 2, 3});
  CHECK(Place{"a.yaml", 2, 3} == Place{std::string("a.yaml"), 2, 3});
}
