#include <fmt/format.h>

#include <cctype>
#include <set>

#include "acceptance_sample.h"
#include "catch.h"
#include "report/acceptance_paper.h"
#include "report/acceptance_words.h"
#include "sample.h"

using namespace vergeset;
using namespace vergeset::report;
using namespace vergeset::tests;

namespace {

/// Each text stands in the sheet, behind the one before it.
void check_order(const std::string& sheet, const std::vector<std::string>& texts) {
  std::size_t at = 0;
  for (const std::string& text : texts) {
    const std::size_t found = sheet.find(text, at);
    INFO(text);
    REQUIRE(found != std::string::npos);
    at = found + text.size();
  }
}

std::size_t occurrences(const std::string& text, const std::string& of) {
  std::size_t count = 0;
  for (std::size_t at = text.find(of); at != std::string::npos; at = text.find(of, at + of.size())) ++count;
  return count;
}

/// What stands between < and > in a page, without the style sheet.
std::vector<std::string> tags_of(const std::string& page) {
  std::vector<std::string> tags;
  for (std::size_t at = page.find("</style>"); (at = page.find('<', at)) != std::string::npos;) {
    const std::size_t end = page.find('>', at);
    tags.push_back(page.substr(at, end - at + 1));
    at = end;
  }
  return tags;
}

/// The kinds of elements, and the names of their attributes.
std::set<std::string> vocabulary(const std::string& page) {
  std::set<std::string> words;
  for (const std::string& tag : tags_of(page)) {
    std::string word;
    bool quoted = false;
    for (const char c : tag) {
      if (c == '"') quoted = !quoted;
      if (quoted || c == '"') continue;
      if (std::isalpha(static_cast<unsigned char>(c)) != 0 || c == '-') {
        word += c;
      } else {
        if (!word.empty()) words.insert(word);
        word.clear();
      }
    }
  }
  return words;
}

}  // namespace

TEST_CASE(
    "an acceptance sheet tells first whether the unit may be accepted, then what is open, then the rest") {
  const std::vector<std::string> order{"LK-104", "may be accepted", "Open findings: 2 (1 warning, 1 notice)",
                                       "Site record", "Checks at the pole"};
  const std::string text = acceptance_text(terminal(), ordinary_sheet());
  check_order(text, order);
  check_order(text,
              {"Checks at the pole", "Stages", "Settings", "Position", "Keys", "Signatures", "Cautions"});
  const std::string page = acceptance_page(ordinary_sheet());
  check_order(page, order);
  check_order(page,
              {"Checks at the pole", "Signatures", "Stages", "Settings", "Position", "Keys", "Cautions"});
}

TEST_CASE("an acceptance sheet as text has who and when, as found and as left, surveyed and found") {
  const std::string text = acceptance_text(terminal(), ordinary_sheet());
  CHECK_THAT(text, Catch::Contains("  mount-height      6.5 m; at the pole 6.2 m\n") &&
                       Catch::Contains("  bond-resistance   not recorded; at the pole 0.3 ohm\n") &&
                       Catch::Contains("  not recorded: injector, drawings\n") &&
                       Catch::Contains(
                           "  GNSS antenna sees the sky           no        r.lopez   2026-11-25T08:20Z\n"
                           "    a tree to the south-east\n") &&
                       Catch::Contains("  position-tolerance     20000 m       15 m\n") &&
                       Catch::Contains("  longitude   -122.349300 deg   -122.349284 deg\n"));
  for (const std::string_view signer : signers()) CHECK_THAT(text, Catch::Contains(std::string(signer)));
  CHECK(occurrences(text, "signature ____") == 3);
}

TEST_CASE(
    "no line of an acceptance sheet is wider than 80 columns, on whatever screen and whatever it holds") {
  for (const int width : {80, 100, 200}) {
    CHECK(widest(acceptance_text(terminal(width), ordinary_sheet())) <= 80);
    CHECK(widest(acceptance_text(terminal(width), worst_sheet())) <= 80);
    CHECK(widest(acceptance_text(terminal(width), hostile_sheet())) <= 80);
  }
  CHECK(widest(acceptance_text(Screen(), hostile_sheet())) <= 80);
  CHECK(widest(acceptance_text(terminal(60), ordinary_sheet())) <= 60);
}

TEST_CASE(
    "a unit with a stage that failed or a finding that is an error is not to be accepted, and why is told") {
  Acceptance sheet = ordinary_sheet();
  CHECK(verdict_text(sheet) == "may be accepted: every stage has passed and no finding is an error");
  sheet.findings[1].severity = fleet::Severity::error;
  sheet.stages[5].result = "failed";
  CHECK(verdict_text(sheet) == "not to be accepted yet: stage health failed; 1 finding is an error");
  CHECK_THAT(acceptance_page(sheet), Catch::Contains("not to be accepted yet: stage health failed"));
  CHECK(open_findings(sheet).front().severity == fleet::Severity::error);
  sheet = ordinary_sheet();
  sheet.accepted = false;
  CHECK(verdict_text(sheet) == "not to be accepted yet: not every stage has passed");
}

TEST_CASE("a sheet of nothing says of each part that there is nothing") {
  for (const std::string& sheet : {acceptance_text(terminal(), {}), acceptance_page({})}) {
    CHECK_THAT(sheet, Catch::Contains("not to be accepted yet: not every stage has passed") &&
                          Catch::Contains("Open findings: none") && Catch::Contains("none were made") &&
                          Catch::Contains("none were changed") && Catch::Contains("not looked at"));
  }
}

TEST_CASE("the page of an acceptance sheet needs no script, no request and no other file") {
  const std::string page = acceptance_page(ordinary_sheet());
  CHECK_THAT(page, Catch::StartsWith("<!DOCTYPE html>") && Catch::Contains("<meta charset=\"utf-8\">") &&
                       Catch::Contains("default-src 'none'"));
  for (const char* const word :
       {"<script", "<link", "<img", "url(", "@import", "http://", "https://", "src="}) {
    INFO(word);
    CHECK_THAT(page, !Catch::Contains(word));
  }
}

TEST_CASE("what a hostile unit or file says is text of the page and none of its markup") {
  const std::string page = acceptance_page(hostile_sheet());
  CHECK(vocabulary(page) == vocabulary(acceptance_page(worst_sheet())));
  CHECK_THAT(page, Catch::Contains("&lt;script&gt;alert(1)&lt;/script&gt;") && Catch::Contains("&amp;amp;") &&
                       Catch::Contains("\\x1b[2J\\xe2\\x80\\xae\\xff\\x0a"));
  CHECK(page.find_first_of("\x1b\xff") == std::string::npos);
  CHECK_THAT(page, !Catch::Contains("\xe2\x80\xae") && !Catch::Contains(std::string(300, 'W')));
  CHECK_THAT(acceptance_text(terminal(), hostile_sheet()),
             !Catch::Contains("\x1b") && !Catch::Contains("\xe2\x80\xae") && Catch::Contains("\\x1b[2J"));
}

TEST_CASE("a side is set in the largest type that holds all of it, and cut where none does") {
  PaperList list;
  list.titles = {"setting", "as found", "as left"};
  list.shares = {0.4, 0.3, 0.3};
  list.heading = "Settings";
  list.most_across = 2;
  const std::size_t few = GENERATE(10, 90, 120, 160, 5000);
  list.rows.assign(few, {"notify-address", "0.0.0.0", "192.0.2.10"});
  std::vector<PaperList> lists{list};
  const PaperType type = fit_side(lists, paper_height);
  const PaperList& fitted = lists.front();
  CHECK(paper_list_height(fitted, type) <= paper_height);
  CHECK((type.name == "roomy") == (few <= 90));
  CHECK((fitted.shown == few) == (few <= 120));
  if (fitted.shown < few) {
    lists.front().shown += 2;
    CHECK(paper_list_height(lists.front(), type) > paper_height);
  }
}

TEST_CASE("rows side by side are told once each and in their order") {
  for (const std::size_t count : {0U, 1U, 2U, 7U, 30U}) {
    for (int across = 1; across <= 3; ++across) {
      std::size_t next = 0;
      for (int part = 0; part < across; ++part) {
        const PaperPart of = paper_part(count, across, part);
        CHECK(of.from == next);
        next = of.to;
      }
      CHECK(next == count);
    }
  }
}

TEST_CASE("a sheet with more settings than fit on paper says how many more and where, and a screen has all") {
  const std::string page = acceptance_page(worst_sheet());
  CHECK_THAT(page, Catch::Contains(" more: records/commissioning/LK-104/0002"));
  for (int i = 1; i <= 160; ++i) CHECK(occurrences(page, fmt::format("row-{} payload", i)) == 1);
  CHECK_THAT(acceptance_page(ordinary_sheet()), !Catch::Contains(" more: "));
}
