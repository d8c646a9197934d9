#include "records/key_store.h"

#include <fmt/format.h>
#include <strings.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <sstream>

#include "records/json_line.h"
#include "records/json_read.h"
#include "records/mistake.h"
#include "smi/value.h"

namespace vergeset::records {

namespace {

using State = StoredKeys::State;

constexpr const char* torn_off = " (torn)\n";

constexpr std::array<std::pair<State, std::string_view>, 4> state_names{
    {{State::before, "before"}, {State::made, "made"}, {State::opens, "opens"}, {State::unused, "unused"}}};

std::string_view name_of(State state) {
  for (const auto& [known, name] : state_names) {
    if (known == state) return name;
  }
  return "";
}

std::optional<State> state_named(std::string_view text) {
  for (const auto& [state, name] : state_names) {
    if (name == text) return state;
  }
  return std::nullopt;
}

void wipe(std::string& text) {
  explicit_bzero(text.data(), text.size());
}

std::string line_of(const StoredKeys& keys) {
  std::string auth_key = smi::to_hex(keys.auth_key);
  std::string privacy_key = smi::to_hex(keys.privacy_key);
  JsonLine line;
  line.text("id", keys.id).text("is", name_of(keys.state)).text("unit", keys.unit);
  line.text("credential", keys.credential).number("change", keys.change).text("user", keys.user);
  line.text("engine", smi::to_hex(keys.engine_id)).text("auth", keys.auth).text("auth_key", auth_key);
  line.text("privacy", keys.privacy).text("privacy_key", privacy_key).number("boots", keys.boots);
  wipe(auth_key);
  wipe(privacy_key);
  return line.str() + "\n";
}

std::optional<std::string> octets_in(const Json& line, const char* name) {
  std::string text = text_in(line, name);
  auto octets = smi::from_hex(text);
  wipe(text);
  if (!octets) return std::nullopt;
  return *std::move(octets);
}

std::optional<StoredKeys> keys_in(const Json& line) {
  StoredKeys keys;
  keys.id = text_in(line, "id");
  keys.unit = text_in(line, "unit");
  keys.credential = text_in(line, "credential");
  keys.user = text_in(line, "user");
  keys.auth = text_in(line, "auth");
  keys.privacy = text_in(line, "privacy");
  const auto state = state_named(text_in(line, "is"));
  const auto engine = octets_in(line, "engine");
  auto auth_key = octets_in(line, "auth_key");
  auto privacy_key = octets_in(line, "privacy_key");
  if (!state || !engine || !auth_key || !privacy_key || keys.unit.empty() || keys.user.empty())
    return std::nullopt;
  keys.state = *state;
  keys.engine_id = *engine;
  keys.auth_key = *std::move(auth_key);
  keys.privacy_key = *std::move(privacy_key);
  keys.change = static_cast<int>(number_in(line, "change").value_or(0));
  keys.boots = number_in(line, "boots").value_or(0);
  return keys;
}

bool ends_with(const std::string& text, std::string_view end) {
  return text.size() >= end.size() && text.compare(text.size() - end.size(), end.size(), end) == 0;
}

}  // namespace

StoredKeys::~StoredKeys() {
  wipe(auth_key);
  wipe(privacy_key);
}

bool StoredKeys::same_keys(const StoredKeys& other) const {
  return user == other.user && engine_id == other.engine_id && auth == other.auth &&
         auth_key == other.auth_key && privacy == other.privacy && privacy_key == other.privacy_key;
}

Result<KeyStore> KeyStore::open(KeyPlace& place) {
  KeyStore store(place);
  std::string text = place.read();
  const auto problem = store.take(text);
  wipe(text);
  if (problem) return *problem;
  return store;
}

std::optional<Problem> KeyStore::take(const std::string& text) {
  std::size_t at = 0;
  for (int number = 1; at < text.size(); ++number) {
    const std::size_t end = text.find('\n', at);
    if (end == std::string::npos) {
      torn_ = true;
      return std::nullopt;
    }
    std::string line = text.substr(at, end - at);
    at = end + 1;
    // What a sync that failed was to write reads as zeros once the power was cut; nobody acted on it.
    line.erase(0, line.rfind('\0') + 1);
    const bool torn = line.empty() || ends_with(line + "\n", torn_off);
    const auto problem = torn ? std::nullopt : take_line(line);
    wipe(line);
    if (problem) return Problem{fmt::format("line {} {}", number, problem->text)};
  }
  return std::nullopt;
}

std::optional<Problem> KeyStore::take_line(const std::string& text) {
  const auto line = parse_json(text);
  if (!line || !line->is_object()) return Problem{"is damaged: it is no JSON object"};
  const std::string id = text_in(*line, "id");
  if (id.empty()) return Problem{"is damaged: it has no id"};
  if (line->contains("auth_key")) {
    auto keys = keys_in(*line);
    if (!keys) return Problem{"is damaged: not all of a unit's keys are there"};
    if (StoredKeys* const known = find(id)) {
      *known = *std::move(keys);
    } else {
      keys_.push_back(*std::move(keys));
    }
    return std::nullopt;
  }
  if (text_in(*line, "is") == "shared") return std::nullopt;
  StoredKeys* const known = find(id);
  if (known == nullptr) return Problem{"speaks of keys " + id + ", which are not above it"};
  if (text_in(*line, "is") == "survived") {
    known->survived = true;
    return std::nullopt;
  }
  const auto state = state_named(text_in(*line, "is"));
  if (!state) return Problem{"is damaged: it does not say what became of keys " + id};
  known->state = *state;
  known->boots = number_in(*line, "boots").value_or(0);
  return std::nullopt;
}

StoredKeys* KeyStore::find(const std::string& id) {
  const auto found =
      std::find_if(keys_.rbegin(), keys_.rend(), [&](const auto& one) { return one.id == id; });
  return found == keys_.rend() ? nullptr : &*found;
}

std::vector<StoredKeys> KeyStore::of(const std::string& unit) const {
  std::vector<StoredKeys> all;
  std::copy_if(keys_.rbegin(), keys_.rend(), std::back_inserter(all),
               [&](const StoredKeys& one) { return one.unit == unit; });
  return all;
}

std::optional<StoredKeys> KeyStore::current(const std::string& unit, const std::string& credential) const {
  for (auto one = keys_.rbegin(); one != keys_.rend(); ++one) {
    if (one->unit == unit && one->credential == credential && one->state == State::opens) return *one;
  }
  return std::nullopt;
}

std::uint64_t KeyStore::wait(std::string line) {
  // Grown by hand, so that what is left behind when it moves is wiped.
  if (waiting_.size() + line.size() > waiting_.capacity()) {
    std::string larger;
    larger.reserve(2 * (waiting_.size() + line.size()));
    larger = waiting_;
    wipe(waiting_);
    waiting_.swap(larger);
  }
  waiting_ += line;
  wipe(line);
  return ++added_;
}

std::uint64_t KeyStore::add(const StoredKeys& keys) {
  keys_.push_back(keys);
  return wait(line_of(keys));
}

std::uint64_t KeyStore::add_shared(const std::string& id, const std::string& credential,
                                   const std::string& user, const std::string& auth_secret,
                                   const std::string& privacy_secret) {
  JsonLine line;
  line.text("id", id).text("is", "shared").text("credential", credential).text("user", user);
  line.text("auth_secret", auth_secret).text("privacy_secret", privacy_secret);
  return wait(line.str() + "\n");
}

std::uint64_t KeyStore::mark(const std::string& id, State state, std::int64_t boots) {
  if (StoredKeys* const known = find(id)) {
    known->state = state;
    known->boots = boots;
  }
  JsonLine line;
  line.text("id", id).text("is", name_of(state)).number("boots", boots);
  return wait(line.str() + "\n");
}

std::uint64_t KeyStore::mark_survived(const std::string& id) {
  if (StoredKeys* const known = find(id)) known->survived = true;
  JsonLine line;
  line.text("id", id).text("is", "survived");
  return wait(line.str() + "\n");
}

void KeyStore::sync() {
  if (on_disk_ == added_) return;
  std::string lines = (torn_ ? torn_off : "") + waiting_;
  torn_ = true;
  try {
    place_->append(lines);
  } catch (const DiskError&) {
    wipe(lines);
    throw;
  }
  wipe(lines);
  torn_ = false;
  wipe(waiting_);
  waiting_.clear();
  on_disk_ = added_;
}

void DiskKeyPlace::append(std::string_view lines) {
  disk_.append(path_, lines, !makes(Mistake::skip_sync));
}

}  // namespace vergeset::records
