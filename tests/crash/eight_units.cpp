#include "eight_units.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <sstream>

#include "sim/agent_control.h"
#include "simulator.h"

namespace crash {

namespace {

constexpr const char* auth_secret = "of larch and lime";
constexpr const char* privacy_secret = "of rowan and rush";

/// Of this process alone.
std::string port() {
  return std::to_string(20000 + ::getpid() % 20000);
}

bool is_1218(const std::string& unit) {
  return unit.substr(0, 4) == "LK-1";
}

std::string units_yaml(int lane) {
  std::ostringstream out;
  out << "units:\n";
  int number = 0;
  for (const std::string& unit : EightUnits::names()) {
    out << "  " << unit << ": {address: 127.113." << lane + 1 << "." << ++number << ", port: " << port()
        << ", model: " << (is_1218(unit) ? "ntcip1218-v01" : "rsu-4.1")
        << ", groups: " << (unit.back() == '4' ? "[spare]" : "[in-use]") << "}\n";
  }
  return out.str();
}

std::string fleet_yaml(const std::string& settings, const std::string& rows) {
  return "fleet: Larkmoor weather bench\nfactory-communities: []\n"
         "credentials:\n"
         "  larkmoor: {user: vergeset, auth-secret: {env: CRASH_AUTH}, privacy-secret: {env: CRASH_PRIV}}\n"
         "timeout: 500 ms\n"
         "retries: 2\n"
         "mode-wait: 5 s\n"
         "waves: [3, rest]\n"
         "settings:\n"
         "  unit-id: \"{unit}\"\n" +
         settings + "tables:\n" + rows;
}

std::string message(const std::string& name, const std::string& psid, const std::string& kind,
                    const std::string& interval, const std::string& payload) {
  return "      " + name + ": {match: [psid], psid: " + psid + ", message: " + kind +
         ", channel: 172, interval: " + interval + ", start: 2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, " +
         "payload: " + payload + ", enabled: yes}\n";
}

std::string before_yaml() {
  return fleet_yaml(
      "  notify-address: 192.0.2.10\n"
      "  position-tolerance: 15 m\n",
      "  radio: {rows: {first: {index: 1, channel: 172}}}\n"
      "  store-and-repeat:\n"
      "    rows:\n" +
          message("map", "0x82", "MAP", "1000 ms", "0012020000") +
          message("notice", "0x83", "TIM", "2000 ms", "001f020000"));
}

std::string after_yaml() {
  return fleet_yaml(
      "  notify-address: 192.0.2.77\n"
      "  position-tolerance: 25 m\n",
      "  radio: {rows: {first: {index: 1, channel: 183}}}\n"
      "  store-and-repeat:\n"
      "    rows:\n" +
          message("map", "0x82", "MAP", "500 ms", "0012030000ff") +
          "      notice: {match: [psid], psid: 0x83, present: no}\n" +
          message("signal", "0x8003", "SPAT", "100 ms", "0013020000"));
}

/// Object identifiers of what a change here touches, from schemas/: the standards' own numbers.
struct Touched {
  std::vector<std::string> scalars;
  std::string rows;  ///< entry of the table of stored messages
  int columns;
};

const Touched& touched(const std::string& unit) {
  // rsuID, rsuNotifyIpAddress, rsuGnssMaxDeviation, rsuMode, rsuModeStatus, rsuRadioCh1.1
  static const Touched ntcip{
      {"13.4.0", "14.1.0", "6.9.0", "16.2.0", "16.3.0", "1.2.1.8.1"}, "1.3.6.1.4.1.1206.4.2.18.3.2.1", 11};
  // rsuID, rsuNotifyIpAddress, rsuGpsMaxDeviation, rsuMode, rsuDCMCCH.1
  static const Touched rsu41{{"17.4.0", "18.2.0", "8.9.0", "99.0", "12.1.4.1"}, "1.0.15628.4.1.4.1", 11};
  return is_1218(unit) ? ntcip : rsu41;
}

std::string root(const std::string& unit) {
  return is_1218(unit) ? "1.3.6.1.4.1.1206.4.2.18." : "1.0.15628.4.1.";
}

/// The lines of a GETBULK that belong to the table.
std::string lines_under(const std::string& text, const std::string& entry) {
  std::istringstream in(text);
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);) {
    if (line.rfind("." + entry + ".", 0) == 0) lines.push_back(line);
  }
  std::sort(lines.begin(), lines.end());
  lines.erase(std::unique(lines.begin(), lines.end()), lines.end());  // a column's end runs into the next
  std::string out;
  for (const std::string& line : lines) out += line + "\n";
  return out;
}

}  // namespace

const std::vector<std::string>& EightUnits::names() {
  static const std::vector<std::string> all = {"LK-101", "LK-201", "LK-102", "LK-202",
                                               "LK-103", "LK-203", "LK-104", "LK-204"};
  return all;
}

EightUnits::EightUnits(int lane, int transition_ms)
    : lane_(lane),
      folder_({{"before/fleet.yaml", before_yaml()},
               {"before/units.yaml", units_yaml(lane)},
               {"before/groups/in-use.yaml", "settings: {mode: operate}\n"},
               {"before/groups/spare.yaml", "settings: {mode: standby}\n"},
               {"after/fleet.yaml", after_yaml()},
               {"after/units.yaml", units_yaml(lane)},
               {"after/groups/in-use.yaml", "settings: {mode: operate}\n"},
               {"after/groups/spare.yaml", "settings: {mode: standby}\n"}}) {
  ::setenv("CRASH_AUTH", auth_secret, 1);
  ::setenv("CRASH_PRIV", privacy_secret, 1);
  simulator_ = begin_simulator(path("before"), path("control"), path("ready"),
                               {"--state", "desired", "--transition", std::to_string(transition_ms)});
}

EightUnits::~EightUnits() {
  if (simulator_ == nullptr) return;
  simulator_->signal(SIGTERM);
  simulator_->wait();
}

std::string EightUnits::control(const std::string& unit) const {
  return vergeset::sim::control_path(path("control"), unit);
}

std::string EightUnits::asked(const std::string& unit, const std::string& line) const {
  return told(control(unit), line);
}

void EightUnits::tell(const std::string& unit, const std::string& line) const {
  asked(unit, line);
}

void EightUnits::start_over() const {
  for (const std::string& unit : names()) tell(unit, "reboot lose");
  for (const std::string& unit : names()) tell(unit, "reset counters");
  std::filesystem::remove_all(records());
  std::filesystem::create_directories(records());
}

std::string EightUnits::place(const std::string& unit) const {
  const auto at = std::find(names().begin(), names().end(), unit);
  return "127.113." + std::to_string(lane_ + 1) + "." + std::to_string(at - names().begin() + 1) + ":" +
         port();
}

std::string EightUnits::reading(const std::string& unit) const {
  const std::vector<std::string> user{
      "-v3", "-u",           "vergeset", "-a",  "SHA-256", "-A",  auth_secret, "-l", "authPriv", "-x", "AES",
      "-X",  privacy_secret, "-On",      "-OQ", "-Oe",     "-Ox", "-r",        "2",  "-t",       "2"};
  const Touched& what = touched(unit);
  std::vector<std::string> get{"snmpget"};
  get.insert(get.end(), user.begin(), user.end());
  get.push_back(place(unit));
  for (const std::string& scalar : what.scalars) get.push_back(root(unit) + scalar);
  std::vector<std::string> bulk{"snmpbulkget"};
  bulk.insert(bulk.end(), user.begin(), user.end());
  bulk.insert(bulk.end(), {"-Cn0", "-Cr4", place(unit)});
  for (int column = 2; column <= what.columns; ++column) {
    bulk.push_back(what.rows + "." + std::to_string(column));
  }
  const Ended scalars = run(get);
  const Ended rows = run(bulk);
  if (scalars.status != 0 || rows.status != 0) return "cannot be read: " + scalars.text + rows.text;
  return scalars.text + lines_under(rows.text, what.rows);
}

std::map<std::string, std::string> EightUnits::readings() const {
  std::map<std::string, std::string> all;
  for (const std::string& unit : names()) all[unit] = reading(unit);
  return all;
}

int EightUnits::sets() const {
  int sum = 0;
  for (const std::string& unit : names()) sum += sets_in(asked(unit, "counters"));
  return sum;
}

std::vector<std::string> EightUnits::words_of(std::vector<std::string> words) const {
  words.insert(words.begin(), PROGRAM);
  words.insert(words.end(), {"--fleet", path("after"), "--records", records()});
  return words;
}

Ended EightUnits::vergeset(std::vector<std::string> words, const Environment& more) const {
  return run(words_of(std::move(words)), more);
}

std::unique_ptr<Child> EightUnits::begin_vergeset(std::vector<std::string> words,
                                                  const Environment& more) const {
  return std::make_unique<Child>(words_of(std::move(words)), more);
}

}  // namespace crash
