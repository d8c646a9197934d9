#include <fmt/format.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include <chrono>
#include <random>

#include "catch.h"
#include "facts_mib.h"
#include "program.h"
#include "schema/model_text.h"
#include "schema/scratch.h"
#include "snmp/mib_file.h"

using namespace vergeset;
using namespace vergeset::tests;
using schema::Scratch;

namespace {

const std::string imports = SOURCE_DIR "/schemas/mibs";

std::string facts_mib() {
  return FactsMib(schema::facts_of("rsu-4.1"), {1, 0, 15628, 4, 1}, Smi::v2).text();
}

/// A module of one object, with `more` behind it.
std::string small_mib(const std::string& more, const std::string& import = "enterprises FROM SNMPv2-SMI") {
  return "LARKMOOR-MIB DEFINITIONS ::= BEGIN\nIMPORTS " + import +
         ";\nlarkmoor OBJECT IDENTIFIER ::= { enterprises 99999 }\n"
         "verge OBJECT-TYPE SYNTAX INTEGER (0..9) MAX-ACCESS read-write STATUS current\n"
         "    DESCRIPTION \"\" ::= { larkmoor 1 }\n" +
         more + "\nEND\n";
}

Result<smi::Mib> read_text(const Scratch& scratch, const std::string& text,
                           std::chrono::seconds patience = std::chrono::seconds{20}) {
  return snmp::read_mib_files({{scratch.write("LARKMOOR-MIB.txt", text)}, {imports}, patience});
}

/// How often each end was seen.
struct Ends {
  std::size_t whole = 0;
  std::size_t faulty = 0;
  std::size_t broke_down = 0;
};

/// Whatever is in the file: an answer, and where that is a model file, one that loads.
void check_answer(const Scratch& scratch, const std::string& text, Ends& ends) {
  const auto mib = read_text(scratch, text, std::chrono::seconds{5});
  if (!mib) {
    ++ends.broke_down;
    CHECK_FALSE(mib.problem().empty());
    return;
  }
  if (!mib->faults.empty()) {
    ++ends.faulty;
    return;
  }
  const auto model = schema::model_text(*mib, {"made", "", "a file"});
  if (!model) {
    ++ends.faulty;
    return;
  }
  ++ends.whole;
  scratch.write("models/made.yaml", model->text);
  Faults faults;
  schema::load_schema(SOURCE_DIR "/schemas", scratch.path("models"), faults);
  std::string told;
  for (const Fault& fault : faults.sorted()) told += fault.str() + "\n";
  CHECK(told == "");
}

class Mutator {
 public:
  explicit Mutator(std::uint32_t seed) : dice_(seed) {}

  std::string changed(std::string text) {
    for (std::size_t times = 1 + roll(3); times > 0; --times) change(text);
    return text;
  }

 private:
  std::size_t roll(std::size_t most) { return most == 0 ? 0 : dice_() % most; }

  void change(std::string& text) {
    static const std::vector<std::string> words{"OBJECT-TYPE",
                                                "SYNTAX",
                                                "{",
                                                "}",
                                                "::=",
                                                "\"",
                                                "--",
                                                "MACRO",
                                                "BEGIN",
                                                "END",
                                                "IMPORTS",
                                                "FROM",
                                                ";",
                                                "SEQUENCE",
                                                "INDEX",
                                                "AUGMENTS",
                                                "DEFVAL",
                                                "(0..",
                                                "SIZE",
                                                "BITS",
                                                "'00'H",
                                                "-1",
                                                "1.3.6.1",
                                                "CHOICE",
                                                "[",
                                                "4294967296",
                                                "\x01",
                                                "NULL",
                                                "::= {",
                                                "(",
                                                "DEFINITIONS",
                                                "OBJECT IDENTIFIER",
                                                "AGENT-CAPABILITIES",
                                                "\xff"};
    const std::size_t at = roll(text.size());
    switch (roll(9)) {
      case 0:
        text[at] = static_cast<char>(roll(256));
        break;
      case 1:
        text.erase(at, roll(200));
        break;
      case 2:
        text.insert(at, text.substr(roll(text.size()), roll(300)));
        break;
      case 3:
        text.insert(at, " " + words[roll(words.size())] + " ");
        break;
      case 4:
        text.resize(at);
        break;
      case 5:
      case 6:
      case 7:
        change_number(text, at);
        break;
      default:
        text.insert(at, std::string(roll(20000), static_cast<char>('0' + roll(75))));
        break;
    }
  }

  /// The next number becomes another: limits, labels, identifiers.
  void change_number(std::string& text, std::size_t at) {
    static const std::vector<std::string> numbers{"0",          "1",          "7",          "65536",
                                                  "2147483648", "4294967295", "99999999999"};
    const std::size_t begin = text.find_first_of("0123456789", at);
    if (begin == text.npos) return;
    const std::size_t end = text.find_first_not_of("0123456789", begin);
    text.replace(begin, end == text.npos ? end : end - begin, numbers[roll(numbers.size())]);
  }

  std::mt19937 dice_;
};

/// Runs the program on a MIB; it never ends by a signal.
Ran from_text(const Scratch& scratch, const std::string& text) {
  return run({"model", "from-mib", scratch.write("LARKMOOR-MIB.txt", text)});
}

}  // namespace

TEST_CASE("three hundred damaged MIBs are each answered, and what is made of one loads") {
  const Scratch scratch;
  const std::string mib = facts_mib();
  Ends ends;
  for (std::uint32_t seed = 0; seed < 300; ++seed) {
    INFO("seed " << seed);
    check_answer(scratch, Mutator(seed).changed(mib), ends);
  }
  CHECK(ends.whole + ends.faulty + ends.broke_down == 300);
  CHECK(ends.whole > 40);
  CHECK(ends.faulty > 100);
}

TEST_CASE("a MIB cut off anywhere gives no model of what is left") {
  const Scratch scratch;
  const std::string mib = small_mib("");
  for (std::size_t size = 0; size < mib.rfind("END"); size += 7) {
    INFO(size);
    const Ran ran = from_text(scratch, mib.substr(0, size));
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK_FALSE(ran.err.empty());
  }
  CHECK(from_text(scratch, mib).status == 0);
}

TEST_CASE("an error in a MIB is told with its file and line, and no model is made") {
  const Scratch scratch;
  const Ran ran = from_text(
      scratch,
      small_mib("edge OBJECT-TYPE SYNTAX INTEGER MAX-ACCESS sometimes STATUS current ::= { larkmoor 2 }"));
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK_THAT(ran.err, Catch::Contains("LARKMOOR-MIB.txt:6: ") && Catch::Contains("sometimes"));
}

TEST_CASE("a module that is not found is named, with what to do") {
  const Scratch scratch;
  const Ran ran =
      from_text(scratch, small_mib("", "enterprises FROM SNMPv2-SMI marker FROM LARKMOOR-LOST-MIB"));
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains("LARKMOOR-MIB.txt:2: ") && Catch::Contains("LARKMOOR-LOST-MIB") &&
                          Catch::Contains("put its file beside this one"));
}

TEST_CASE("an identifier that nobody defines is told with its line") {
  const Scratch scratch;
  const Ran ran = from_text(scratch, small_mib("lost OBJECT IDENTIFIER ::= { nowhere 3 }"));
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains("LARKMOOR-MIB.txt:6: nowhere is defined nowhere"));
}

TEST_CASE("modules that import each other, and identifiers that stand below themselves, come to an end") {
  const Scratch scratch;
  scratch.write("OTHER-MIB.txt", "OTHER-MIB DEFINITIONS ::= BEGIN IMPORTS verge FROM LARKMOOR-MIB;\nEND\n");
  CHECK(from_text(scratch, small_mib("", "enterprises FROM SNMPv2-SMI other FROM OTHER-MIB")).status >= 0);
  CHECK(from_text(scratch, small_mib("a OBJECT IDENTIFIER ::= { b 1 }\nb OBJECT IDENTIFIER ::= { a 1 }"))
            .status == 2);
  CHECK(from_text(scratch, small_mib("a OBJECT IDENTIFIER ::= { a 1 }")).status == 2);
  CHECK(from_text(scratch, small_mib("T ::= T\nU ::= V\nV ::= U")).status >= 0);
}

TEST_CASE("deep and huge MIBs are answered") {
  const Scratch scratch;
  std::string deep;
  std::string above = "larkmoor";
  for (int level = 0; level < 400; ++level) {
    const std::string name = fmt::format("level{}", level);
    deep += fmt::format("{} OBJECT IDENTIFIER ::= {{ {} 1 }}\n", name, above);
    above = name;
  }
  CHECK(from_text(scratch, small_mib(deep)).status == 0);  // beyond 128 arcs there is nothing (RFC 2578 3.5)
  const Ran brackets = from_text(scratch, small_mib("X ::= SEQUENCE " + std::string(1'000'000, '{')));
  CHECK(brackets.status == 2);
  std::string comments;
  for (int line = 0; line < 500'000; ++line) comments += "--\n";
  CHECK(from_text(scratch, small_mib(comments)).status >= 0);
  std::string labels;
  for (int label = 0; label < 20'000; ++label) labels += fmt::format("l{}({}),", label, label);
  labels.pop_back();
  CHECK(from_text(scratch,
                  small_mib("many OBJECT-TYPE SYNTAX INTEGER { " + labels +
                            " } MAX-ACCESS read-write STATUS current DESCRIPTION \"\" ::= { larkmoor 2 }"))
            .status == 0);
  const Ran large = from_text(scratch, std::string(17 << 20, ' '));
  CHECK(large.status == 2);
  CHECK_THAT(large.err, Catch::Contains("16 MiB"));
}

TEST_CASE("what is no file of a MIB is refused by name") {
  const Scratch scratch;
  CHECK_THAT(run({"model", "from-mib", scratch.path("none.txt")}).err, Catch::Contains("is missing"));
  scratch.write("models/x", "");
  CHECK_THAT(run({"model", "from-mib", scratch.path("models")}).err, Catch::Contains("is no file"));
  const std::string pipe = scratch.path("pipe");
  REQUIRE(::mkfifo(pipe.c_str(), 0600) == 0);
  CHECK_THAT(run({"model", "from-mib", pipe}).err, Catch::Contains("is no file"));
  // One beside a MIB holds nothing up either.
  CHECK(from_text(scratch, small_mib("")).status == 0);
  for (const std::string text : {"", "hello",
                                 "\x7f"
                                 "ELF",
                                 "{\"a\": 1}"}) {
    const Ran ran = from_text(scratch, text);
    INFO(text << ran.err);
    CHECK(ran.status == 2);
  }
}

TEST_CASE("a parser that breaks down takes nothing with it") {
  // net-snmp 5.9.3 goes down the tree by recursion, forty thousand levels here.
  const Scratch scratch;
  std::string deep;
  for (int level = 0; level < 40'000; ++level)
    deep += fmt::format("n{} OBJECT IDENTIFIER ::= {{ {} 1 }}\n", level,
                        level == 0 ? "larkmoor" : fmt::format("n{}", level - 1));
  const Ran ran = from_text(scratch, small_mib(deep));
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK_THAT(ran.err,
             Catch::Contains("net-snmp's parser broke down on ") && Catch::Contains("LARKMOOR-MIB.txt"));
}

TEST_CASE("a parser that does not come to an end is ended") {
  const Scratch scratch;
  const auto begun = std::chrono::steady_clock::now();
  const auto late = snmp::read_mib_files(
      {{scratch.write("LARKMOOR-MIB.txt", small_mib(""))}, {imports}, std::chrono::seconds{0}});
  REQUIRE_FALSE(late);
  CHECK_THAT(late.problem(), Catch::Contains("did not come to an end"));
  CHECK(std::chrono::steady_clock::now() - begun < std::chrono::seconds{5});
}

TEST_CASE("text of a MIB can do nothing to a terminal or to the model file") {
  const Scratch scratch;
  const Ran ran = from_text(
      scratch,
      small_mib("odd OBJECT-TYPE SYNTAX INTEGER (0..5) UNITS \"m\x1b[2J\n  evil: yes\" MAX-ACCESS read-write "
                "STATUS current DESCRIPTION \"\x1b]0;x\x07\" ::= { larkmoor 2 }"));
  CHECK(ran.status == 0);
  CHECK(ran.out.find('\x1b') == ran.out.npos);
  CHECK(ran.out.find("\n  evil") == ran.out.npos);
  CHECK_THAT(ran.out, Catch::Contains("odd: {oid: 2, syntax: Integer32 (0..5), access: read-write}"));
}
