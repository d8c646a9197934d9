// What rewrites a terminal or hides in a text: ECMA-48 (C0, C1), Unicode Standard Annex 9 (bidi controls),
// RFC 3629 (UTF-8). That C1 works as UTF-8 in terminals: common practice, no source.

#include "smi/inert.h"

#include <nlohmann/json.hpp>
#include <random>

#include "catch.h"
#include "smi/utf8.h"
#include "smi/words.h"

using namespace vergeset;

namespace {

/// Only characters of UTF-8, and none that rewrites.
bool holds_still(const std::string& text, bool lines = false) {
  for (std::size_t at = 0; at < text.size();) {
    const Character one = character_at(text, at);
    if (!one.valid) return false;
    if (smi::rewrites(one.code) && !(lines && one.code == '\n')) return false;
    at += one.octets;
  }
  return true;
}

std::string random_octets(std::mt19937& dice) {
  static const std::vector<std::string> bad = {"\033[2J",      "\x9b",       "\xc2\x9b", "\u202e", "\r",
                                               "\n",           "\u200b",     "\ufeff",   "\xff",   "\xc0\x80",
                                               "\xed\xa0\x80", "\U000e0041", "é",        "\"",     "\\"};
  std::string text;
  const auto size = std::uniform_int_distribution<int>(0, 40)(dice);
  for (int i = 0; i < size; ++i) {
    if (std::uniform_int_distribution<int>(0, 3)(dice) == 0) {
      text += bad[std::uniform_int_distribution<std::size_t>(0, bad.size() - 1)(dice)];
    } else {
      text += static_cast<char>(std::uniform_int_distribution<int>(0, 255)(dice));
    }
  }
  return text;
}

}  // namespace

TEST_CASE("what would move a cursor, hide, or turn the direction of writing is spelt out") {
  CHECK(smi::inert("\033]0;owned\a") == "\\x1b]0;owned\\x07");
  CHECK(smi::inert("\xc2\x9b"
                   "2J") == "\\xc2\\x9b2J");
  CHECK(smi::inert("\x9b"
                   "2J") == "\\x9b2J");
  CHECK(smi::inert("one\ntwo\r") == "one\\x0atwo\\x0d");
  CHECK(smi::inert("\u202etxt.exe") == "\\xe2\\x80\\xaetxt.exe");
  CHECK(smi::inert("a\u200bb\ufeff") == "a\\xe2\\x80\\x8bb\\xef\\xbb\\xbf");
  CHECK(smi::inert_lines("one\ntwo\r\n") == "one\ntwo\\x0d\n");
}

TEST_CASE("letters of any language stay as they are") {
  for (const char* text : {"Größe", "Łódź 3", "東京", "Ω ≥ 5", "a\u0301"}) {
    CHECK(smi::inert(text) == text);
    CHECK(smi::inert_json(text) == text);
  }
}

TEST_CASE("whatever octets come, their text holds still") {
  std::mt19937 dice(5);
  for (int i = 0; i < 20000; ++i) {
    const std::string octets = random_octets(dice);
    INFO(smi::escaped(octets));
    REQUIRE(holds_still(smi::inert(octets)));
    REQUIRE(holds_still(smi::inert_lines(octets), true));
  }
}

TEST_CASE("a JSON text that was made inert holds still and reads back as the same") {
  std::mt19937 dice(7);
  for (int i = 0; i < 20000; ++i) {
    const nlohmann::json value = {{"text", smi::inert(random_octets(dice)) + "\u202e\u0085\U000e0041\x7f"}};
    const std::string text = smi::inert_json(value.dump());
    INFO(smi::escaped(text));
    REQUIRE(holds_still(text));
    REQUIRE(nlohmann::json::parse(text) == value);
  }
  std::mt19937 more(9);
  for (int i = 0; i < 20000; ++i) {
    const nlohmann::json value = random_octets(more);
    const std::string dumped = value.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
    REQUIRE(holds_still(smi::inert_json(dumped)));
    REQUIRE(nlohmann::json::parse(smi::inert_json(dumped)) == nlohmann::json::parse(dumped));
  }
}
