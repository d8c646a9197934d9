#include "marks.h"

#include <openssl/evp.h>

#include <fstream>

#include "catch.h"
#include "key_changes.h"
#include "traced_call.h"

/// What looks for secrets finds them, and nothing else.
namespace {

marks::Marks some_marks() {
  marks::Marks some;
  some.secrets.push_back({"auth", "maplesyrup"});
  some.hashes = {"SHA-1"};
  some.engines.emplace_back("A.3", std::string(11, '\0') + '\x02');
  return some;
}

// RFC 3414 A.3.2: the keys Ku and Kul of "maplesyrup" by SHA-1, engine 00 00 00 00 00 00 00 00 00 00 00 02.
const std::string ku = "9fb5cc0381497b3793528939ff788d5d79145211";
const std::string kul = "6695febc9288e36282235fc7151f128497b38f3f";

std::string element(char tag, const std::string& contents) {
  const std::string longer = contents.size() < 0x80 ? "" : "\x81";
  return tag + longer + static_cast<char>(contents.size()) + contents;
}

/// An SNMPv3 message (RFC 3412 6) of boots 1, time 2 and a salt of eight 3s, enciphered by this key.
std::string message_of(const std::string& engine, const std::string& plain, const std::string& key) {
  const std::string start = std::string("\0\0\0\1\0\0\0\2", 8) + std::string(8, '\3');
  std::string cipher(plain.size(), '\0');
  int size = 0;
  EVP_CIPHER_CTX* const state = EVP_CIPHER_CTX_new();
  EVP_EncryptInit_ex(state, EVP_aes_128_cfb128(), nullptr, reinterpret_cast<const unsigned char*>(key.data()),
                     reinterpret_cast<const unsigned char*>(start.data()));
  EVP_EncryptUpdate(state, reinterpret_cast<unsigned char*>(cipher.data()), &size,
                    reinterpret_cast<const unsigned char*>(plain.data()), static_cast<int>(plain.size()));
  EVP_CIPHER_CTX_free(state);
  const std::string security =
      element(0x30, element(4, engine) + element(2, "\1") + element(2, "\2") + element(4, "installer") +
                        element(4, std::string(24, 'd')) + element(4, std::string(8, '\3')));
  return element(0x30, element(2, "\3") + element(0x30, "") + element(4, security) + element(4, cipher));
}

}  // namespace

TEST_CASE("keys are made as RFC 3414 A.3.2 shows") {
  const std::string key = marks::password_to_key("SHA-1", "maplesyrup");
  CHECK(marks::hex(key) == ku);
  CHECK(marks::hex(marks::localized("SHA-1", key, some_marks().engines[0].second)) == kul);
}

TEST_CASE("base64 is that of RFC 4648 10, without what fills up its last digits") {
  CHECK(marks::base64("foobar") == "Zm9vYmFy");
  CHECK(marks::base64("fo") == "Zm");
}

TEST_CASE("a secret is found as it is, in hex and in base64, wherever it begins") {
  const marks::Search search(some_marks(), false);
  using Found = std::set<std::string>;
  CHECK(search.in("pancakes with maplesyrup").count("the auth password") == 1);
  CHECK(search.in("pancakes with maplesyru").empty());
  CHECK(search.in("key: " + ku.substr(0, 32)) == Found{"the auth key Ku in hex"});
  CHECK(search.in("key: " + ku.substr(0, 31)).empty());
  CHECK(search.in("66:95:fe:bc:92:88:e3:62:82:23:5f:c7:15:1f:12:84") == Found{"the auth key of A.3 in hex"});
  CHECK(search.in("66 95 FE BC 92 88 E3 62 82 23 5F C7 15 1F 12 84") == Found{"the auth key of A.3 in hex"});
  for (const std::string before : {"", "a", "ab", "abc"})
    CHECK(search.in(marks::base64(before + "maplesyrup" + "xyz")) == Found{"the auth password in base64"});
  const marks::Search few(some_marks(), true);
  CHECK(few.in(ku).empty());
  CHECK(few.in("maplesyrup").size() == 1);
}

TEST_CASE("octets that are looked for as they are need be sixteen at least to be a mark") {
  marks::Marks some = some_marks();
  some.octets.push_back({"key-change", std::string(16, 'k') + "and more"});
  CHECK(marks::Search(some, false).in("x" + std::string(16, 'k')) == std::set<std::string>{"the key-change"});
  CHECK(marks::Search(some, true).in(std::string(16, 'k')).empty());
}

TEST_CASE(
    "a key change is read out of the message that carried it, by who has the key, and no other value is") {
  const marks::Marks some = some_marks();
  const std::string engine = some.engines[0].second;
  const std::string key =
      marks::localized("SHA-1", marks::password_to_key("SHA-1", "maplesyrup"), engine).substr(0, 16);
  // usmUserEntry (RFC 3414 5): column 6 is usmUserAuthKeyChange, 8 is usmUserPrivProtocol.
  const std::string entry{"\x2b\x06\x01\x06\x03\x0f\x01\x02\x02\x01", 10};
  const std::string set = element(6, entry + "\x06\x01") + element(4, "what tells of a key") +
                          element(6, entry + "\x08\x01") + element(4, "what does not");
  const std::string plain = element(0x30, element(4, engine) + element(4, "") + set);
  CHECK(marks::key_changes_in(message_of(engine, plain, key), some) ==
        std::vector<std::string>{"what tells of a key"});
  CHECK(marks::key_changes_in(message_of(engine, plain, std::string(16, 'x')), some).empty());
  CHECK(marks::key_changes_in(plain, some).empty());
  CHECK(marks::key_changes_in("", some).empty());
}

TEST_CASE("a line of strace is a call with the octets that it wrote") {
  const auto call = marks::read_call(
      R"(writev(3<\x2f\x74\x6d\x70>, [{iov_base="\x61\x00", iov_len=2}, {iov_base="\x62", iov_len=1}], 2) = 3)");
  REQUIRE(call);
  CHECK(call->name == "writev");
  CHECK(call->target == "/tmp");
  CHECK(call->octets == std::string("a\0b", 3));
  CHECK_FALSE(call->cut_short);
  CHECK(marks::read_call(R"(write(1<\x78>, "\x61"..., 900) = 900)")->cut_short);
  CHECK_FALSE(marks::read_call("+++ exited with 0 +++"));
  CHECK_FALSE(marks::read_call(""));

  const auto start = marks::read_call(R"(execve("\x2f\x61", ["\x61", "\x2d\x62"], ["\x4b\x3d\x31"]) = 0)");
  REQUIRE(start);
  CHECK(start->arguments == std::vector<std::string>{"/a", "a", "-b"});
  CHECK(start->environment == std::vector<std::string>{"K=1"});
}

TEST_CASE("marks are read from a file, and one that is not understood is refused") {
  const std::string path = "marks-of-the-test";
  const auto read = [&](const std::string& text) {
    std::ofstream(path) << text;
    return marks::read_marks(path);
  };
  const auto sound = read("secret auth of oak and ash\nhash SHA-256\nengine LK-104 80001f88\n");
  REQUIRE(sound);
  CHECK(sound->secrets[0].password == "of oak and ash");
  CHECK(sound->engines[0].second == std::string("\x80\x00\x1f\x88", 4));
  CHECK_FALSE(read("secret auth of oak and ash\n"));
  CHECK_FALSE(read("secret auth of oak and ash\nhash SHA-3\n"));
  CHECK_FALSE(read("secret auth of oak and ash\nhash SHA-256\nengine LK-104 8x\n"));
  std::remove(path.c_str());
}
