#pragma once

#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <memory>
#include <string>
#include <vector>

#include "rough/child.h"
#include "sim/served_fleet.h"

namespace rough {

/// Simulated units, and the road to them: vergeset finds each at the relay's address for it, net-snmp's own
/// commands find it where it is.
class Road {
 public:
  /// `weather`: options of the relay.
  Road(int units, std::vector<std::string> weather, const std::string& settings)
      : units_(units), weather_(std::move(weather)), served_(list("127.111"), 300) {
    std::filesystem::create_directories(folder());
    std::ofstream(folder() + "/units.yaml") << list("127.112");
    std::ofstream(folder() + "/fleet.yaml") << fleet_yaml() << settings;
  }

  static std::string name(int unit) { return fmt::format("LK-{:03}", unit); }
  static std::string host(const char* side, int unit) {
    return fmt::format("{}.{}.{}", side, unit / 200, unit % 200 + 1);
  }

  /// Whether all units and the relay are there.
  bool open(const std::vector<std::string>& more = {}) {
    if (!served_.start(more)) return false;
    std::ofstream pairs(served_.path("pairs"));
    for (int unit = 1; unit <= units_; ++unit) {
      pairs << host("127.112", unit) << ' ' << served::port() << ' ' << host("127.111", unit) << ' '
            << served::port() << '\n';
    }
    pairs.close();
    std::vector<std::string> words{BINARY_DIR "/tests/relay/relay", "--pairs", served_.path("pairs"),
                                   "--ready", served_.path("relay-ready")};
    words.insert(words.end(), weather_.begin(), weather_.end());
    relay_ = std::make_unique<Child>(std::move(words), served_.path("relay-log"));
    return wait_until([&] { return std::filesystem::exists(served_.path("relay-ready")); });
  }

  Child::End vergeset(std::vector<std::string> words) const {
    words.insert(words.begin(), PROGRAM);
    words.insert(words.end(), {"--fleet", folder()});
    return Child(std::move(words), served_.path("vergeset-log")).wait();
  }

  /// Past the relay; what stands behind " = " on each line.
  std::string get(int unit, const std::string& oids) const {
    return served::run(
               fmt::format("snmpget -v3 -u vergeset -a SHA-256 -A 'of oak and ash' -l authPriv -x AES "
                           "-X 'of elm and yew' -On -OQ -Ov -r 2 -t 5 {}:{} {}",
                           host("127.111", unit), served::port(), oids))
        .text;
  }
  served::Ran tell(const std::string& words) const { return served_.tell(words); }
  /// What has passed so far, as the relay tells at its end.
  std::string close() { return relay_->stop().text; }

  std::string folder() const { return served_.path("behind"); }
  std::string log_of(int unit) const { return text_of(folder() + "/records/units/" + name(unit) + ".log"); }

 private:
  static std::string fleet_yaml() {
    return "fleet: Larkmoor valley road\nfactory-communities: []\n"
           "credentials:\n"
           "  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: "
           "SERVED_PRIV}}\n";
  }
  std::string list(const char* side) const {
    std::string text = "units:\n";
    for (int unit = 1; unit <= units_; ++unit) {
      text += fmt::format(
          "  {}: {{address: {}, port: {}, model: {}, site: {{latitude: 51.1234567, longitude: -1.2345678, "
          "elevation: 41.2}}}}\n",
          name(unit), host(side, unit), served::port(), unit % 4 == 0 ? "rsu-4.1" : "ntcip1218-v01");
    }
    return text;
  }

  int units_;
  std::vector<std::string> weather_;
  served::ServedFleet served_;
  std::unique_ptr<Child> relay_;
};

}  // namespace rough
