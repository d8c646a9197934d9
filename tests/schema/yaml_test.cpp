#include "schema/yaml.h"

#include <functional>

#include "catch.h"
#include "schema/scratch.h"

using vergeset::Fault;
using vergeset::Faults;
using vergeset::schema::Entry;
using vergeset::schema::Marked;
using vergeset::schema::Scratch;
using vergeset::schema::YamlFile;

namespace {

/// What `use` and the parser find wrong with a text, one fault a line.
std::vector<std::string> faults_of(const std::string& text, const std::function<void(const Entry&)>& use) {
  const Scratch scratch;
  Faults faults;
  const YamlFile file(scratch.write("t.yaml", text), "t.yaml", faults);
  use(file.root());
  std::vector<std::string> list;
  for (const Fault& fault : faults.sorted()) list.push_back(fault.str());
  return list;
}

std::vector<std::string> parse_faults(const std::string& text) {
  return faults_of(text, [](const Entry&) {});
}

/// Exactly one fault, at the mark, with these words.
void check_fault(const std::string& marked, const std::string& words,
                 const std::function<void(const Entry&)>& use) {
  const Marked text(marked);
  INFO(text.text.substr(0, 200));
  const auto faults = faults_of(text.text, use);
  REQUIRE(faults.size() == 1);
  CHECK(faults[0] == text.place("t.yaml") + ": " + words);
}

void check_no_yaml(const std::string& marked, const std::string& words) {
  check_fault(marked, "is no YAML: " + words, [](const Entry&) {});
}

}  // namespace

TEST_CASE("scalars are text as written, plain or quoted") {
  const auto faults =
      faults_of("a: on\nb: 0x82\nc: 08:30\nd: 'on'\ne: \"x: y\"\nf: 6.10\ng: ''\n", [](const Entry& root) {
        CHECK(root.at("a").text("a word") == "on");
        CHECK(root.at("b").text("a word") == "0x82");
        CHECK(root.at("c").text("a word") == "08:30");
        CHECK(root.at("d").text("a word") == "on");
        CHECK(root.at("e").text("a word") == "x: y");
        CHECK(root.at("f").text("a word") == "6.10");
        CHECK(root.at("g").text("a word").empty());
        CHECK(root.at("g").is_text());
      });
  CHECK(faults.empty());
}

TEST_CASE("places count lines and columns from 1") {
  const auto faults = faults_of("a:\n  - x\n  - {b: y}\n", [](const Entry& root) {
    CHECK(root.place().str() == "t.yaml:1:1");
    const auto members = root.at("a").members("a list");
    REQUIRE(members.size() == 2);
    CHECK(members[0].place().str() == "t.yaml:2:5");
    CHECK(members[1].at("b").place().str() == "t.yaml:3:9");
  });
  CHECK(faults.empty());
}

TEST_CASE("columns count characters, not octets, behind a byte order mark and carriage returns too") {
  const auto faults = faults_of(
      "\xef\xbb\xbf"
      "# \xc3\xa4\r\n"
      "{a: \"\xc3\xa4\xe2\x82\xac\", b: x}\r\n",
      [](const Entry& root) {
        CHECK(root.at("a").place().str() == "t.yaml:2:5");
        CHECK(root.at("b").place().str() == "t.yaml:2:14");
      });
  CHECK(faults.empty());
}

TEST_CASE("a file that is no UTF-8 is a fault where it is none") {
  const auto check = [](const std::string& text, const std::string& place) {
    const auto faults = parse_faults(text);
    REQUIRE(faults.size() == 1);
    CHECK(faults[0] == place + ": is no YAML: what stands here is no UTF-8; save the file as UTF-8 text");
  };
  check("a: 1\nb: \xc3\xa4 M\xfchle\n", "t.yaml:2:7");
  check("a: \xc0\xaf\n", "t.yaml:1:4");          // overlong, RFC 3629 3
  check("a: \xed\xa0\x80\n", "t.yaml:1:4");      // surrogate, RFC 3629 3
  check("a: \xf4\x90\x80\x80\n", "t.yaml:1:4");  // above U+10FFFF, RFC 3629 3
  check("a: \xe2\x82", "t.yaml:1:4");
}

TEST_CASE("a fault that no person would read to its end is cut") {
  Faults faults;
  faults.add({"t.yaml", 1, 1}, "no model is called " + std::string(2'000'000, 'm') + "; did you mean m?");
  CHECK(faults.sorted()[0].text.size() < 1000);
  CHECK(faults.sorted()[0].text.find("no model is called mmm") == 0);
  CHECK(faults.sorted()[0].text.rfind("mm; did you mean m?") != std::string::npos);
}

TEST_CASE("control characters that a file spells out are shown in its faults, not passed on to a terminal") {
  const auto faults = faults_of("a: \"x\\e[2J\\n\\x9b\\x7f\\xe4\"\n",
                                [](const Entry& root) { root.at("a").number("a number", 0, 9); });
  REQUIRE(faults.size() == 1);
  CHECK(faults[0] ==
        "t.yaml:1:4: a number, 0 to 9, is expected; found \"x\\x1b[2J\\x0a\\xc2\\x9b\\x7f\xc3\xa4\"");
}

TEST_CASE("an empty file and one of comments read as nothing") {
  for (const std::string text : {"", "# nothing\n", "\n\n", "---\n", "~\n"}) {
    const auto faults = faults_of(text, [](const Entry& root) {
      CHECK(root.is_nothing());
      CHECK(root.pairs("a map").empty());
      CHECK(root.members("a list").empty());
      CHECK_FALSE(root.at("a"));
    });
    CHECK(faults.empty());
  }
}

TEST_CASE("a missing file is a fault of the file as a whole, and reads as nothing") {
  Faults faults;
  const YamlFile file("/nonexistent/fleet.yaml", "fleet.yaml", faults);
  CHECK(file.root().is_nothing());
  REQUIRE(faults.count() == 1);
  CHECK(faults.sorted()[0].place.line == 0);
  CHECK(faults.sorted()[0].str() == "fleet.yaml: is missing");
}

TEST_CASE("a folder in place of a file is a fault") {
  const Scratch scratch;
  Faults faults;
  const YamlFile file(scratch.path(""), "fleet.yaml", faults);
  REQUIRE(faults.count() == 1);
  CHECK(faults.sorted()[0].str() == "fleet.yaml: is no file");
}

TEST_CASE("a file larger than 64 MiB is a fault and is not read") {
  const Scratch scratch;
  const std::string path = scratch.write("t.yaml", "a: b\n");
  std::filesystem::resize_file(path, 64U * 1024 * 1024 + 1);
  Faults faults;
  const YamlFile file(path, "t.yaml", faults);
  CHECK(file.root().is_nothing());
  REQUIRE(faults.count() == 1);
  CHECK(faults.sorted()[0].str() == "t.yaml: is larger than 64 MiB; split it");
}

TEST_CASE("a file that the disk does not give is a fault") {
  Faults faults;
  const YamlFile file("/proc/self/mem", "t.yaml", faults);  // a file to the eye, whose octet 0 is an error
  REQUIRE(faults.count() == 1);
  CHECK(faults.sorted()[0].str() == "t.yaml: cannot be read; check who may read it");
}

TEST_CASE("a file that cannot be used is one fault, whatever is sought in it") {
  for (const std::string text : {"a: [1\n", "a: \x01\n", "a: &x [*x]\n"}) {
    const auto faults = faults_of(text, [](const Entry& root) {
      CHECK(root.blamed());
      root.need("fleet").text("a name");
      root.at("units").pairs("a map");
      root.text("a text");
    });
    CHECK(faults.size() == 1);
  }
}

TEST_CASE("what is no YAML is told in plain words, with its place") {
  check_no_yaml("a: [1, 2@@\n\n", "a bracket [ is not closed by ]");
  check_no_yaml("a: @@@x\n", "this character may not begin a text; put the text in quotes");
  check_no_yaml(
      "a: b@@: c\n",
      "a colon with a blank behind it is not expected here; check the indentation, or put the text in "
      "quotes");
  check_no_yaml("a: @@*b\n", "an alias (*) names an anchor (&) that does not stand above it");
  check_no_yaml("a: 1\n@@]\n", "a closing bracket or brace stands here without an opening one");
  check_no_yaml("a: @@- b\n", "a list entry is not expected here; begin it on a line of its own");
  check_no_yaml("a: x@@\x04y\n", "a control character stands here; is this file UTF-8 text?");
}

TEST_CASE("a quoted text that is never closed is a fault, not the rest of the file") {
  const auto faults = parse_faults("a: 'x\nb: 2\n");
  REQUIRE(faults.size() == 1);
  CHECK(faults[0] == "t.yaml:2:5: is no YAML: a quoted text that began further up is not closed");
}

TEST_CASE("a tab in the indentation is reported where it stands") {
  check_no_yaml("a: 1\n@@\tb: 2\n", "a tab stands in the indentation; write blanks");
  check_no_yaml("a:\n@@\tb: 2\n", "a tab stands in the indentation; write blanks");
  check_no_yaml("- a\n-@@\tb: 1\n", "a tab stands in the indentation; write blanks");
}

TEST_CASE("what stands behind the first document is not dropped without a word") {
  for (const std::string text : {"a: 1\n---\n@@b: 2\n", "- a\n@@b: 1\n", " a: 1\n@@b: 2\n"}) {
    const auto faults = parse_faults(Marked(text).text);
    REQUIRE(faults.size() == 1);
    CHECK(faults[0].find(Marked(text).place("t.yaml") + ": is no YAML of one piece") == 0);
  }
}

TEST_CASE("a hundred thousand brackets are a fault and not a crash") {
  for (const std::string piece : {"[", "{", "- ", "? ", "{a: ", "a: [", "!a ", "&a ", "]", "\""}) {
    std::string text;
    for (int i = 0; i < 100'000; ++i) text += piece;
    INFO(piece);
    CHECK(parse_faults(text).size() == 1);
  }
  const auto faults = parse_faults(std::string(100'000, '['));
  CHECK(faults[0].find("inside each other more than 500 deep") != std::string::npos);
}

TEST_CASE("a comma in front of all else is a fault, and not an empty document without end") {
  check_no_yaml("@@, a\n", "a comma is not expected here; put the text in quotes");
  check_no_yaml("@@,", "a comma is not expected here; put the text in quotes");
  CHECK(parse_faults("a: b\n...\n,").size() == 1);
}

TEST_CASE("anchors and aliases stand for their value") {
  const auto faults = faults_of("a: &x {b: y}\nc: *x\n", [](const Entry& root) {
    CHECK(root.at("c").at("b").text("a word") == "y");
    CHECK(root.at("c").place().str() == "t.yaml:1:4");
  });
  CHECK(faults.empty());
}

TEST_CASE("aliases of aliases of aliases are a fault, and take no time and no room") {
  std::string text = "x0: &x0 [a, b]\n";
  for (int i = 1; i < 1000; ++i) {
    const std::string before = "*x" + std::to_string(i - 1);
    text += "x" + std::to_string(i) + ": &x" + std::to_string(i) + " [" + before + ", " + before + "]\n";
  }
  CHECK(parse_faults(text).size() == 1);
}

TEST_CASE("aliases that blow a document up are a fault, and those that do not are none") {
  std::string text = "a: &a [";
  for (int i = 0; i < 2'000; ++i) text += "x,";
  text += "]\nb:\n";
  for (int i = 0; i < 500; ++i) text += "  - *a\n";
  CHECK(parse_faults(text).empty());
  for (int i = 0; i < 1'000; ++i) text += "  - *a\n";
  const auto faults = parse_faults(text);
  REQUIRE(faults.size() == 1);
  CHECK(faults[0].find("t.yaml: comes to more than 2000000 values when each alias (*)") == 0);
}

TEST_CASE("a value that holds an alias to itself is a fault") {
  const auto faults = faults_of("a: &x {b: [*x]}\n", [](const Entry& root) { CHECK(root.is_nothing()); });
  REQUIRE(faults.size() == 1);
  CHECK(faults[0] == "t.yaml: an alias (*) stands inside the very value that it names");
}

TEST_CASE("a key that stands twice is a fault at the second, and the first counts") {
  check_fault("a: 1\nb: 2\n@@a: 3\n", "\"a\" stands here a second time, after line 1; keep one of the two",
              [](const Entry& root) {
                const auto pairs = root.pairs("a map");
                REQUIRE(pairs.size() == 2);
                CHECK(pairs[0].second.text("a number") == "1");
                CHECK(pairs[1].first.text("a name") == "b");
              });
}

TEST_CASE("a key that is no name is a fault") {
  check_fault("? @@[a]\n: b\n", "a name is expected in front of the colon; found a list",
              [](const Entry& root) { CHECK(root.pairs("a map").empty()); });
}

TEST_CASE("pairs keep the order of the file") {
  faults_of("z: 1\na: 2\nm: 3\n", [](const Entry& root) {
    std::string order;
    for (const auto& [key, value] : root.pairs("a map")) order += key.text("a name");
    CHECK(order == "zam");
  });
}

TEST_CASE("a value of another kind is a fault that says what was expected and found") {
  const auto text_of_a = [](const Entry& root) { CHECK(root.at("a").text("an address").empty()); };
  check_fault("a: @@{b: c}\n", "an address is expected; found a map", text_of_a);
  check_fault("a: @@[b]\n", "an address is expected; found a list", text_of_a);
  check_fault("a: @@~\n", "an address is expected; nothing stands here", text_of_a);
  check_fault("a: @@b\n", "a map of groups is expected; found \"b\"",
              [](const Entry& root) { CHECK(root.at("a").pairs("a map of groups").empty()); });
  check_fault("a: @@{b: c}\n", "a list of groups is expected; found a map",
              [](const Entry& root) { CHECK(root.at("a").members("a list of groups").empty()); });
}

TEST_CASE("yes and no have three spellings each, in any case") {
  const auto faults = faults_of("[yes, true, on, Yes, no, false, OFF]", [](const Entry& root) {
    const auto members = root.members("a list");
    REQUIRE(members.size() == 7);
    for (std::size_t i = 0; i < 7; ++i) CHECK(members[i].yes_no("whether") == (i < 4));
  });
  CHECK(faults.empty());
  check_fault("a: @@maybe\n", "whether it is, yes or no, is expected; found \"maybe\"",
              [](const Entry& root) { CHECK_FALSE(root.at("a").yes_no("whether it is")); });
}

TEST_CASE("numbers are whole, decimal and within their bounds") {
  const auto number = [](const Entry& root) { return root.at("a").number("a port", 1, 65535); };
  faults_of("a: 161\n", [&](const Entry& root) { CHECK(number(root) == 161); });
  for (const std::string text : {"a: @@0\n", "a: @@65536\n", "a: @@16x\n", "a: @@1.5\n", "a: @@''\n",
                                 "a: @@99999999999999999999\n", "a: @@0x10\n"}) {
    const Marked marked(text);
    const auto faults = faults_of(marked.text, [&](const Entry& root) { CHECK_FALSE(number(root)); });
    REQUIRE(faults.size() == 1);
    CHECK(faults[0].find(marked.place("t.yaml") + ": a port, 1 to 65535, is expected; found") == 0);
  }
}

TEST_CASE("a lone scalar is a list of one") {
  faults_of("a: b\n", [](const Entry& root) {
    const auto members = root.at("a").members("a list");
    REQUIRE(members.size() == 1);
    CHECK(members[0].text("a name") == "b");
  });
}

TEST_CASE("what is needed and missing is one fault, at its map") {
  check_fault("a:\n  @@b: 1\n", "`c:` is missing", [](const Entry& root) {
    const Entry missing = root.at("a").need("c");
    CHECK_FALSE(missing);
    CHECK(missing.text("a name").empty());
    CHECK_FALSE(missing.number("a number", 0, 1));
    CHECK_FALSE(missing.at("d"));
  });
}

TEST_CASE("unknown keys are faults, with a suggestion or the list of known ones") {
  const auto use = [](const Entry& root) { root.only({"address", "port"}); };
  check_fault("address: a\n@@prot: 1\n", "unknown key \"prot\"; did you mean port?", use);
  check_fault("@@colour: a\n", "unknown key \"colour\"; known here: address, port", use);
}

TEST_CASE("an entry that is given another value leaves the tree as it was") {
  faults_of("a: 1\nb: {c: 2}\n", [](const Entry& root) {
    Entry entry = root.at("a");
    entry = root.at("b");
    entry = Entry();
    CHECK(root.at("a").text("a number") == "1");
    CHECK(root.at("b").at("c").text("a number") == "2");
  });
}

TEST_CASE("a byte order mark and carriage returns do no harm") {
  const auto faults = faults_of(
      "\xef\xbb\xbf"
      "a: 1\r\nb: 2\r\n",
      [](const Entry& root) {
        CHECK(root.at("a").text("a number") == "1");
        CHECK(root.at("b").text("a number") == "2");
      });
  CHECK(faults.empty());
}
