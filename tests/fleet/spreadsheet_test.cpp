#include "fleet/spreadsheet.h"

#include "catch.h"
#include "fleet/spreadsheet_text.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

using Cells = std::vector<std::string>;

Spreadsheet read(const std::string& octets, std::optional<char> delimiter = {}) {
  auto sheet = read_spreadsheet(octets, delimiter);
  if (!sheet) throw std::runtime_error(sheet.problem());
  return *std::move(sheet);
}

/// RFC 2781, for characters of the basic plane in ASCII and Latin-1.
std::string utf16(const std::string& latin1, bool big_end_first, bool with_mark) {
  std::string octets;
  const auto add = [&](unsigned char high, unsigned char low) {
    octets += static_cast<char>(big_end_first ? high : low);
    octets += static_cast<char>(big_end_first ? low : high);
  };
  if (with_mark) add(0xfe, 0xff);
  for (const char c : latin1) add(0, static_cast<unsigned char>(c));
  return octets;
}

}  // namespace

TEST_CASE(
    "a spreadsheet is read in UTF-8, with and without a byte order mark, and in UTF-16 of either order") {
  const std::string latin1 =
      "Name,Stra\xdf"
      "e\nLK-1,M\xfchlweg\n";
  const std::string utf8 =
      "Name,Stra\xc3\x9f"
      "e\nLK-1,M\xc3\xbchlweg\n";
  for (const std::string& octets :
       {utf8, "\xef\xbb\xbf" + utf8, latin1, utf16(latin1, false, true), utf16(latin1, true, true),
        utf16(latin1, false, false), utf16(latin1, true, false)}) {
    const Spreadsheet sheet = read(octets);
    REQUIRE(sheet.rows.size() == 2);
    CHECK(sheet.rows[0].cells == Cells{"Name",
                                       "Stra\xc3\x9f"
                                       "e"});
    CHECK(sheet.rows[1].cells == Cells{"LK-1", "M\xc3\xbchlweg"});
  }
  CHECK(read(utf8).encoding == "UTF-8");
  CHECK(read(latin1).encoding == "Windows-1252");
  CHECK(read(utf16(latin1, false, true)).encoding == "UTF-16");
}

TEST_CASE("what Windows-1252 has beyond Latin-1 is read as that") {
  // CP1252.TXT of the Unicode Consortium (from memory): 0x80 euro, 0x92 right quote, 0x96 en dash.
  const auto text = decode_sheet("a\x80\x92\x96");
  REQUIRE(text);
  CHECK(text->text == "a\u20ac\u2019\u2013");
}

TEST_CASE("characters beyond the basic plane survive UTF-16, and halves of a pair do no harm") {
  using namespace std::string_literals;
  const auto text = decode_sheet("\xff\xfe\x3d\xd8\x00\xde"s);  // U+1F600 (RFC 2781 2.1)
  REQUIRE(text);
  CHECK(text->text == "\U0001f600");
  const auto half = decode_sheet("\xff\xfe\x3d\xd8\x41\x00"s);
  REQUIRE(half);
  CHECK(half->text ==
        "\ufffd"
        "A");
}

TEST_CASE("a workbook and other octets that are no text are told as that") {
  using namespace std::string_literals;
  const auto workbook = read_spreadsheet("PK\x03\x04 and more", {});
  REQUIRE_FALSE(workbook);
  CHECK(workbook.problem().find("save the sheet as CSV") != std::string::npos);
  CHECK_FALSE(read_spreadsheet("abc\0def ghi jkl mno"s, {}));
  CHECK_FALSE(read_spreadsheet("", {}));
  CHECK_FALSE(read_spreadsheet("\r\n  \r\n,,,\r\n", {}));
}

TEST_CASE("the delimiter is found among comma, semicolon, tab and bar, also where cells hold the others") {
  CHECK(read("a,b,c\n1,2,3\n").delimiter == ',');
  CHECK(read("a;b;c\n1,5;2,5;3,5\n4,5;2,5;3,5\n").delimiter == ';');
  CHECK(read("a\tb\tc\nx, y\tz\tq\n").delimiter == '\t');
  CHECK(read("a|b|c\n1|2|3\n").delimiter == '|');
  CHECK(read("Larkmoor, units of the north; printed 2024\na;b;c;d\n1;2;3;4\n").delimiter == ';');
  CHECK(read("sep=;\na,b;c\n").delimiter == ';');
  CHECK(read("sep=;\na,b;c\n").rows.at(0).cells == Cells{"a,b", "c"});
  CHECK(read("a,b;c\n", ';').rows.at(0).cells == Cells{"a,b", "c"});
}

TEST_CASE("quoted cells hold delimiters, line ends and doubled quotes, and rows keep their lines") {
  // RFC 4180 2.6 and 2.7
  const Spreadsheet sheet = read("a,b\r\n\"x, y\",\"one\r\ntwo\"\r\n\r\n\"say \"\"so\"\"\", 7 \r\n");
  REQUIRE(sheet.rows.size() == 3);
  CHECK(sheet.rows[1].cells == Cells{"x, y", "one\ntwo"});
  CHECK(sheet.rows[1].line == 2);
  CHECK(sheet.rows[2].cells == Cells{"say \"so\"", "7"});
  CHECK(sheet.rows[2].line == 5);
  CHECK(sheet.broken.empty());
}

TEST_CASE("line ends of every kind end rows; blank rows and empty cells at the end are nothing") {
  CHECK(read("a,b\rc,d\r").rows.size() == 2);
  const Spreadsheet sheet = read("a,b,,,\n,,,,\nc,d\n\xc2\xa0,\n");
  REQUIRE(sheet.rows.size() == 2);
  CHECK(sheet.rows[1].line == 3);
  CHECK(sheet.rows[1].at(1) == "d");
  CHECK(sheet.rows[1].at(9).empty());
}

TEST_CASE("a quote within a cell is a letter; one that never closes takes its own line alone") {
  const Spreadsheet inches = read("a,b\n6\" pole,x\n");
  CHECK(inches.rows[1].cells == Cells{"6\" pole", "x"});
  CHECK(inches.broken.empty());

  const Spreadsheet open = read("a,b\n\"x,1\ny,2\nz,3\n");
  REQUIRE(open.rows.size() == 4);
  CHECK(open.rows[1].cells == Cells{"\"x", "1"});
  CHECK(open.rows[3].cells == Cells{"z", "3"});
  REQUIRE(open.broken.size() == 1);
  CHECK(open.broken[0].line == 2);

  const Spreadsheet behind = read("a,b\n\"x\"y,1\nz,3\n");
  REQUIRE(behind.broken.size() == 1);
  CHECK(behind.broken[0].line == 2);
  CHECK(behind.rows.size() == 3);
}
