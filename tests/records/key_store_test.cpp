#include "records/key_store.h"

#include "catch.h"
#include "smi/value.h"

using namespace vergeset;
using namespace vergeset::records;
using State = StoredKeys::State;

namespace {

/// A place in memory that fails when it is told to, and may have taken a part by then.
class MemoryPlace : public KeyPlace {
 public:
  std::string text;
  bool fails = false;
  std::string read() const override { return text; }
  void append(std::string_view lines) override {
    if (fails) {
      text += lines.substr(0, lines.size() / 2);
      throw DiskError("full");
    }
    text += lines;
  }
};

StoredKeys keys_of(const std::string& id, const std::string& unit, State state, int change) {
  StoredKeys keys;
  keys.id = id;
  keys.unit = unit;
  keys.credential = "own";
  keys.change = change;
  keys.state = state;
  keys.user = "vergeset";
  keys.engine_id = std::string("\x80\x00\x1f\x88\x04x", 6);
  keys.auth = "SHA-256";
  keys.auth_key = std::string(32, 'a') + id;
  keys.privacy = "AES-128";
  keys.privacy_key = std::string(16, 'p');
  return keys;
}

KeyStore opened(MemoryPlace& place) {
  auto store = KeyStore::open(place);
  REQUIRE(store);
  return *std::move(store);
}

std::string problem_of(const std::string& text) {
  MemoryPlace place;
  place.text = text;
  const auto store = KeyStore::open(place);
  return store ? "" : store.problem();
}

}  // namespace

TEST_CASE("keys that were stored are there again, octet for octet, newest first") {
  MemoryPlace place;
  KeyStore store = opened(place);
  store.add(keys_of("1", "LK-104", State::before, 1));
  store.add(keys_of("2", "LK-104", State::made, 1));
  store.add(keys_of("3", "LK-105", State::made, 1));
  CHECK(place.text.empty());
  store.sync();

  const KeyStore again = opened(place);
  const auto keys = again.of("LK-104");
  REQUIRE(keys.size() == 2);
  CHECK(keys[0].id == "2");
  CHECK(keys[0].same_keys(keys_of("2", "LK-104", State::made, 1)));
  CHECK(keys[1].state == State::before);
}

TEST_CASE("what became of keys is what was marked last") {
  MemoryPlace place;
  KeyStore store = opened(place);
  store.add(keys_of("1", "LK-104", State::made, 1));
  store.mark("1", State::opens, 7);
  store.add(keys_of("2", "LK-104", State::made, 2));
  store.sync();
  CHECK(opened(place).current("LK-104", "own")->id == "1");
  CHECK(opened(place).current("LK-104", "own")->boots == 7);
  CHECK_FALSE(opened(place).current("LK-104", "other"));
  store.mark("2", State::opens, 7);
  store.mark_survived("1");
  store.sync();
  CHECK(opened(place).current("LK-104", "own")->id == "2");
  store.mark("2", State::unused, 0);
  store.sync();
  CHECK(opened(place).current("LK-104", "own")->id == "1");
  CHECK(opened(place).current("LK-104", "own")->survived);
}

TEST_CASE("what the disk did not take is written with the next attempt, behind what was torn") {
  MemoryPlace place;
  KeyStore store = opened(place);
  store.add(keys_of("1", "LK-104", State::made, 1));
  place.fails = true;
  CHECK_THROWS_AS(store.sync(), DiskError);
  CHECK(store.on_disk() == 0);
  place.fails = false;
  const auto line = store.add(keys_of("2", "LK-105", State::made, 1));
  store.sync();
  CHECK(store.on_disk() == line);
  CHECK(opened(place).of("LK-104").size() == 1);
  CHECK(opened(place).of("LK-105").size() == 1);
}

TEST_CASE("a last line that a power cut tore is passed over, and gone on behind") {
  MemoryPlace place;
  KeyStore store = opened(place);
  store.add(keys_of("1", "LK-104", State::made, 1));
  store.add(keys_of("2", "LK-104", State::made, 2));
  store.sync();
  const std::string whole = place.text;
  for (std::size_t cut = whole.find('\n') + 1; cut < whole.size(); ++cut) {
    place.text = whole.substr(0, cut);
    KeyStore torn = opened(place);
    REQUIRE(torn.of("LK-104").size() == 1);
    torn.add(keys_of("3", "LK-104", State::made, 3));
    torn.sync();
    const KeyStore again = opened(place);
    REQUIRE(again.of("LK-104").size() == 2);
    REQUIRE(again.of("LK-104")[0].id == "3");
  }
}

TEST_CASE("a damaged line is a problem that names it and shows nothing of it") {
  MemoryPlace place;
  KeyStore store = opened(place);
  store.add(keys_of("1", "LK-104", State::made, 1));
  store.sync();
  const std::string line = place.text;
  CHECK(problem_of(line).empty());
  CHECK(problem_of(line + "{\"id\":\n").find("line 2") != std::string::npos);
  CHECK(problem_of(line + "{\"id\":\"9\",\"is\":\"opens\"}\n").find("not above it") != std::string::npos);
  std::string damaged = line;
  damaged.replace(damaged.find("6161"), 4, "61zz");  // in the key
  const std::string problem = problem_of(damaged);
  CHECK(problem.find("line 1") != std::string::npos);
  CHECK(problem.find("6161") == std::string::npos);
}

TEST_CASE("secrets that units share are for people, and are passed over when keys are read") {
  MemoryPlace place;
  KeyStore store = opened(place);
  store.add_shared("9", "own", "vergeset", "one secret", "another one");
  store.sync();
  CHECK(place.text.find("\"auth_secret\":\"one secret\"") != std::string::npos);
  CHECK(opened(place).of("LK-104").empty());
}
