#include "fleet/csv.h"

#include "catch.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

using Lines = std::vector<std::vector<std::string>>;

Lines texts(const std::string& text, Faults& faults) {
  Lines lines;
  CsvReader reader(text, "u.csv", faults);
  for (CsvLine line; reader.next(line);) {
    lines.emplace_back();
    for (const Cell& cell : line) lines.back().push_back(cell.text);
  }
  return lines;
}

Lines texts(const std::string& text) {
  Faults faults;
  const Lines lines = texts(text, faults);
  for (const Fault& fault : faults.sorted()) UNSCOPED_INFO(fault.str());
  CHECK_FALSE(faults.any());
  return lines;
}

void check_fault(const std::string& text, const std::string& place, const std::string& word,
                 const Lines& left) {
  Faults faults;
  const Lines lines = texts(text, faults);
  INFO(text);
  REQUIRE(faults.count() == 1);
  CHECK(faults.sorted()[0].place.str() == place);
  CHECK(faults.sorted()[0].text.find(word) != std::string::npos);
  CHECK(lines == left);
}

}  // namespace

TEST_CASE("cells in quotes hold commas, line ends and doubled quotes") {
  // RFC 4180 2.5 to 2.7
  CHECK(texts("\"aaa\",\"b \r\nbb\",\"ccc\"\r\nzzz,yyy,xxx") ==
        Lines{{"aaa", "b \r\nbb", "ccc"}, {"zzz", "yyy", "xxx"}});
  CHECK(texts("\"aaa\",\"b\"\"bb\",\"ccc\"\r\n") == Lines{{"aaa", "b\"bb", "ccc"}});
  CHECK(texts("\"a,b\",\"\"\n") == Lines{{"a,b", ""}});
}

TEST_CASE("line ends of every machine, a byte order mark, blank lines and comments are fine") {
  CHECK(texts("\xef\xbb\xbf"
              "a,b\r\n\r\n# note, \"half\r\n1,2\n\n3,4\r5,6") ==
        Lines{{"a", "b"}, {"1", "2"}, {"3", "4"}, {"5", "6"}});
  CHECK(texts("").empty());
  CHECK(texts("\n   \n#\n").empty());
  CHECK(texts("a,#b\n") == Lines{{"a", "#b"}});
}

TEST_CASE("blanks around a cell are not part of it, within quotes they are") {
  CHECK(texts(" a , \" b \" ,\tc d\t\n") == Lines{{"a", " b ", "c d"}});
  CHECK(texts("a,,\n") == Lines{{"a", "", ""}});
}

TEST_CASE("the place of a cell counts characters, not octets") {
  Faults faults;
  CsvReader reader("a,b\n\xc3\xa4\xe2\x82\xac,x\n\"l\nm\",y\n", "u.csv", faults);
  std::vector<CsvLine> lines;
  for (CsvLine line; reader.next(line);) lines.push_back(line);
  REQUIRE(lines.size() == 3);
  CHECK(lines[0][1].place == Place{"u.csv", 1, 3});
  CHECK(lines[1][1].place == Place{"u.csv", 2, 4});
  CHECK(lines[2][0].place == Place{"u.csv", 3, 1});
  CHECK(lines[2][1].place == Place{"u.csv", 4, 4});
}

TEST_CASE("a broken line is told with its place, and reading goes on behind it") {
  check_fault("a,\"b\"c\nd,e\n", "u.csv:1:6", "closing quote", {{}, {"d", "e"}});
  check_fault("a,b\"c\nd,e\n", "u.csv:1:4", "quote stands within", {{}, {"d", "e"}});
  check_fault("a,b\nc,\"d\ne,f\n", "u.csv:2:3", "never closed", {{"a", "b"}, {}});
}

TEST_CASE("text that is no UTF-8 or holds control characters is told") {
  check_fault("a,M\xfchle\n", "u.csv:1:3", "UTF-8", {{"a", "M\xfchle"}});
  check_fault("a,\xc0\xaf\n", "u.csv:1:3", "UTF-8", {{"a", "\xc0\xaf"}});          // overlong, RFC 3629 3
  check_fault("a,\xed\xa0\x80\n", "u.csv:1:3", "UTF-8", {{"a", "\xed\xa0\x80"}});  // surrogate, RFC 3629 3
  check_fault("a,b\x01\n", "u.csv:1:3", "control character", {{"a", "b\x01"}});
  check_fault(std::string("a,b\nc\0d,e\n", 10), "u.csv", "octets 00", {});
}
