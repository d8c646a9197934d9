#include "fleet/shared_list.h"

#include <algorithm>
#include <string>

#include "catch.h"
#include "fleet/texts.h"

using namespace vergeset::fleet;

namespace {

using List = SharedList<std::string>;
using Strings = std::vector<std::string>;

std::shared_ptr<const std::string> shared(const std::string& text) {
  return std::make_shared<const std::string>(text);
}

}  // namespace

TEST_CASE("a copy of a list has the same elements at the same address") {
  const List list = {"a", "b", "c"};
  const List copy = list;
  CHECK(copy == Strings{"a", "b", "c"});
  CHECK(&copy[1] == &list[1]);
}

TEST_CASE("an element that is put into one list leaves its copies and its other elements alone") {
  const List list = {"a", "b", "c", "d"};
  List copy = list;
  copy.put(2, shared("z"));
  copy.put(0, shared("x"));
  copy.put(2, shared("y"));
  CHECK(copy == Strings{"x", "b", "y", "d"});
  CHECK(list == Strings{"a", "b", "c", "d"});
  CHECK(&copy[1] == &list[1]);
}

TEST_CASE("what is added to a copy is not in the list") {
  const List list = {"a", "b"};
  List copy = list;
  copy.put(0, shared("x"));
  copy.push_back("c");
  copy.sort([](const std::string& a, const std::string& b) { return a > b; });
  CHECK(copy == Strings{"x", "c", "b"});
  CHECK(list == Strings{"a", "b"});
}

TEST_CASE("a list is searched as other lists are") {
  const List list = {"a", "b", "c"};
  CHECK(std::find(list.begin(), list.end(), "b") - list.begin() == 1);
  CHECK(std::find(list.begin(), list.end(), "z") == list.end());
  CHECK(list.front() == "a");
  CHECK(list.back() == "c");
  CHECK(List().empty());
}

TEST_CASE("texts are kept by name, a second one of a name in place of the first") {
  Texts texts = {{"pole", "P-7"}, {"mac", ""}};
  texts.set("serial", "SN 1");
  texts.set("pole", "P-8, the longer name of a pole");
  texts.set("bond", std::string("\0:", 2));
  Strings seen;
  for (const auto& [name, text] : texts) seen.push_back(std::string(name) + "=" + std::string(text));
  CHECK(seen ==
        Strings{std::string("bond=\0:", 7), "mac=", "pole=P-8, the longer name of a pole", "serial=SN 1"});
  CHECK(texts.at("serial") == "SN 1");
  CHECK(texts.find("mac")->second.empty());
  CHECK(texts.find("po") == texts.end());
  CHECK_THROWS(texts.at("po"));
}
