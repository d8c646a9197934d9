#include "keyed_units.h"

#include <algorithm>
#include <map>
#include <sstream>

#include "simulator.h"

namespace crash {

namespace {

namespace fs = std::filesystem;
using vergeset::tests::StoredKey;
using vergeset::tests::StoreFile;
using vergeset::tests::words_of;

constexpr const char* auth_secret = "out-of-the-box";
constexpr const char* privacy_secret = "box-of-the-out";

/// Of this process alone.
std::string port() {
  return std::to_string(20000 + ::getpid() % 20000);
}

std::string fleet_yaml(const std::string& kept) {
  return "fleet: Larkmoor keys bench\n"
         "credentials:\n"
         "  factory: {user: installer, auth-secret: {env: KEYED_AUTH}, privacy-secret: {env: KEYED_PRIV}}\n"
         "  own: {user: vergeset, keys: store}\n"
         "credential: own\n"
         "factory-credentials: [factory]\n"
         "key-store: {file: " +
         kept + "/keys/" + KeyedUnits::store_name +
         "}\n"
         "timeout: 500 ms\n"
         "retries: 2\n"
         "waves: [rest]\n"
         "settings: {unit-id: \"{unit}\"}\n";
}

std::vector<std::string> split(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> words;
  for (std::string word; in >> word;) words.push_back(word);
  return words;
}

std::size_t index_of(const std::string& unit) {
  const auto& names = KeyedUnits::names();
  return static_cast<std::size_t>(std::find(names.begin(), names.end(), unit) - names.begin());
}

constexpr const char* engine_id = "1.3.6.1.6.3.10.2.1.1.0";       // snmpEngineID, RFC 3411
constexpr const char* user_status = "1.3.6.1.6.3.15.1.2.2.1.13";  // usmUserStatus, RFC 3414
constexpr const char* group_name = "1.3.6.1.6.3.16.1.2.1.3";      // vacmGroupName, RFC 3415

}  // namespace

const std::vector<std::string>& KeyedUnits::names() {
  static const std::vector<std::string> all = {"LK-911", "LK-921"};
  return all;
}

KeyedUnits::KeyedUnits(int lane, From from)
    : lane_(lane), from_(from), folder_(std::map<std::string, std::string>{}) {
  ::setenv("KEYED_AUTH", auth_secret, 1);
  ::setenv("KEYED_PRIV", privacy_secret, 1);
  folder_.write("fleet/fleet.yaml", fleet_yaml(kept()));
  std::string inventory = "units:\n";
  for (const std::string& unit : names()) {
    inventory += "  " + unit + ": {address: 127.115." + std::to_string(lane_ + 1) + "." +
                 std::to_string(index_of(unit) + 1) + ", port: " + port() +
                 ", model: " + (unit == "LK-911" ? "ntcip1218-v01" : "rsu-4.1") + "}\n";
  }
  folder_.write("fleet/units.yaml", inventory);
  fs::create_directories(records());
  simulator_ = begin_simulator(path("fleet"), path("control"), path("ready"), {"--credential", "factory"});
  if (from_ == From::own_keys) {
    const Ended ran = vergeset({"rekey", "--yes", "--quiet"});
    if (ran.status != 0) throw std::runtime_error(ran.text);
    // A start from which on these are its users.
    for (const std::string& unit : names()) told(control(unit), "reboot");
  }
  fs::copy(kept(), path("kept-at-first"), fs::copy_options::recursive);
  start_over();
  for (const std::string& unit : names()) {
    first_openers_.push_back(from_ == From::factory ? factory() : words_of(store().last(unit, "opens")));
    first_users_.push_back(users(unit, first_openers_.back()));
  }
}

KeyedUnits::~KeyedUnits() {
  if (simulator_ == nullptr) return;
  simulator_->signal(SIGTERM);
  simulator_->wait();
}

void KeyedUnits::start_over() const {
  for (const std::string& unit : names()) {
    told(control(unit), "clear");
    told(control(unit), "forget-users 1");
    told(control(unit), "reboot lose");
    told(control(unit), "reset counters");
  }
  fs::remove_all(kept());
  fs::copy(path("kept-at-first"), kept(), fs::copy_options::recursive);
  // The program asks for no less than this.
  for (const auto& entry : fs::recursive_directory_iterator(kept())) {
    fs::permissions(
        entry, entry.is_directory() ? fs::perms::owner_all : fs::perms::owner_read | fs::perms::owner_write);
  }
}

std::string KeyedUnits::place(const std::string& unit) const {
  return "127.115." + std::to_string(lane_ + 1) + "." + std::to_string(index_of(unit) + 1) + ":" + port();
}

std::string KeyedUnits::control(const std::string& unit) const {
  return vergeset::sim::control_path(path("control"), unit);
}

Ended KeyedUnits::vergeset(std::vector<std::string> words, const Environment& more) const {
  words.insert(words.begin(), PROGRAM);
  words.insert(words.end(), {"--fleet", path("fleet"), "--records", records()});
  return run(std::move(words), more);
}

Ended KeyedUnits::ask(const std::string& unit, const std::string& command, const std::string& who,
                      const std::vector<std::string>& objects) const {
  std::vector<std::string> words = split(command + " " + who + " -On -OQ -Oe -r 2 -t 2 " + place(unit));
  words.insert(words.end(), objects.begin(), objects.end());
  return run(std::move(words));
}

bool KeyedUnits::opens(const std::string& unit, const std::string& who) const {
  const Ended ran = ask(unit, "snmpget", who, {engine_id});
  return ran.status == 0 && ran.text.find("No Such") == std::string::npos;
}

bool KeyedUnits::refuses(const std::string& unit, const std::string& who) const {
  const Ended ran = ask(unit, "snmpget", who, {engine_id});
  return ran.status != 0 && (ran.text.find("Unknown user name") != std::string::npos ||
                             ran.text.find("Authentication failure") != std::string::npos);
}

std::string KeyedUnits::users(const std::string& unit, const std::string& who) const {
  return ask(unit, "snmpbulkwalk", who, {user_status}).text +
         ask(unit, "snmpbulkwalk", who, {group_name}).text;
}

std::string KeyedUnits::users_at_first(const std::string& unit) const {
  return first_users_[index_of(unit)];
}

std::string KeyedUnits::opener_at_first(const std::string& unit) const {
  return first_openers_[index_of(unit)];
}

std::string KeyedUnits::factory() {
  return std::string("-v3 -l authPriv -u installer -a SHA-256 -A ") + auth_secret + " -x AES -X " +
         privacy_secret;
}

std::string KeyedUnits::opener(const std::string& unit) const {
  std::vector<StoredKey> keys = store().of(unit);
  std::reverse(keys.begin(), keys.end());
  for (const StoredKey& key : keys) {
    if (opens(unit, words_of(key))) return words_of(key);
  }
  return opens(unit, factory()) ? factory() : "";
}

StoreFile KeyedUnits::store() const {
  return StoreFile(kept() + "/keys/" + store_name);
}

int KeyedUnits::sets() const {
  int sum = 0;
  for (const std::string& unit : names()) sum += sets_in(told(control(unit), "counters"));
  return sum;
}

}  // namespace crash
