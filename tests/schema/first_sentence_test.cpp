#include "schema/first_sentence.h"

#include "catch.h"
#include "smi/inert.h"
#include "smi/utf8.h"

using namespace vergeset;
using schema::first_sentence;

TEST_CASE("of a description the first sentence is kept, on one line") {
  CHECK(first_sentence("The door was opened\n         or shut. It is sent once.") ==
        "The door was opened or shut");
  CHECK(first_sentence("A lamp, e.g. at a bend, is out") == "A lamp, e.g. at a bend, is out");
  CHECK(first_sentence("Above 2.5 V. Then more") == "Above 2.5 V");
  CHECK(first_sentence("Out! Now") == "Out!");
  CHECK(first_sentence("").empty());
  CHECK(first_sentence(" \n\t .").empty());
  CHECK(first_sentence("...") == "..");
}

TEST_CASE("a tag that a description begins with is passed over, and what follows the next one is left out") {
  // from memory: the tags of NTCIP's MIBs
  CHECK(first_sentence("<Definition> The door was opened\n<Informative> See there.") ==
        "The door was opened");
  CHECK(first_sentence("<Definition>").empty());
  CHECK(first_sentence("< 5 volts were found") == "< 5 volts were found");
}

TEST_CASE("a long sentence is cut between words, and never within a letter") {
  const std::string cut = first_sentence(
      "A very long sentence that goes on about one thing and the other, and then about others, until it "
      "ends.");
  CHECK(cut == "A very long sentence that goes on about one thing and the other, and then...");
  std::string letters;
  for (int i = 0; i < 100; ++i) letters += "\xc3\xa4";
  for (std::size_t before = 0; before < 4; ++before) {
    const std::string one = first_sentence(std::string(before, 'x') + letters);
    CHECK(one.size() <= 80);
    CHECK(readable(one) == one.size());
  }
}

TEST_CASE("nothing in a description can do anything to a terminal or end a line") {
  // CSI 2J, C1 CSI, right-to-left override, and octets that are no UTF-8
  const std::string one = first_sentence(
      "up\x1b[2J\xc2\x9b"
      "1m\xe2\x80\xae"
      "down\r\n\x07\xff\xfe: yes # no");
  CHECK(one == "up [2J 1m down : yes # no");
  CHECK(smi::inert(one) == one);
}
