#pragma once

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <thread>
#include <vector>

#include "support/fleet_folder.h"

/// roadside-sim over a small fleet of its own, and net-snmp's own commands as managers.
namespace served {

using namespace std::chrono_literals;

struct Ran {
  int status = 0;
  std::string text;  ///< both outputs
};

inline Ran run(const std::string& command) {
  Ran ran;
  FILE* pipe = ::popen(("( " + command + " ) 2>&1").c_str(), "r");
  std::array<char, 4096> part{};
  while (const std::size_t size = std::fread(part.data(), 1, part.size(), pipe))
    ran.text.append(part.data(), size);
  const int ended = ::pclose(pipe);
  ran.status = WIFEXITED(ended) ? WEXITSTATUS(ended) : -1;
  return ran;
}

inline int port() {
  return 20000 + static_cast<int>(::getpid() % 20000);
}

inline std::string address(int unit) {
  return "127.104.1." + std::to_string(unit);
}

inline const char* fleet_yaml() {
  return "fleet: Larkmoor district\n"
         "credentials:\n"
         "  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: SERVED_PRIV}}\n"
         "settings: {unit-id: \"{unit}\", mode: operate}\n";
}

/// LK-101 is an NTCIP 1218 unit, LK-201 an RSU 4.1 unit, at addresses of the loopback net.
inline std::string units_yaml() {
  const auto unit = [](const char* name, int number, const char* model) {
    return std::string("  ") + name + ": {address: " + address(number) + ", port: " + std::to_string(port()) +
           ", model: " + model + ", site: {latitude: 51.1234567, longitude: -1.2345678, elevation: 41.2}}\n";
  };
  return "units:\n" + unit("LK-101", 1, "ntcip1218-v01") + unit("LK-201", 2, "rsu-4.1");
}

class ServedFleet {
 public:
  /// Ends by itself after so many seconds.
  explicit ServedFleet(const std::string& units = units_yaml(), int seconds = 100,
                       const std::string& fleet = fleet_yaml())
      : folder_({{"fleet.yaml", fleet}, {"units.yaml", units}}), seconds_(seconds) {
    ::setenv("SERVED_AUTH", "of oak and ash", 1);
    ::setenv("SERVED_PRIV", "of elm and yew", 1);
    // The commands read no configuration of this machine's and keep none.
    ::setenv("SNMPCONFPATH", "/dev/null", 1);
    ::setenv("SNMP_PERSISTENT_DIR", "/dev/null", 1);
    ::setenv("MIBS", "", 1);
  }
  ~ServedFleet() { stop(); }
  ServedFleet(const ServedFleet&) = delete;
  ServedFleet& operator=(const ServedFleet&) = delete;

  std::string path(const std::string& name) const { return folder_.path() + "/" + name; }

  /// Starts it and waits until every unit answers; false where it ended instead.
  bool start(const std::vector<std::string>& more = {}) {
    std::vector<std::string> words{BINARY_DIR "/src/sim/roadside-sim",
                                   "--fleet",
                                   folder_.path(),
                                   "--schemas",
                                   SOURCE_DIR "/schemas",
                                   "--control",
                                   control_folder,
                                   "--ready",
                                   path("ready"),
                                   "--transition",
                                   "400",
                                   "--reboot-time",
                                   "600",
                                   "--seconds",
                                   std::to_string(seconds_)};
    words.insert(words.end(), more.begin(), more.end());
    std::filesystem::remove(path("ready"));
    simulator_ = ::fork();
    if (simulator_ == 0) {
      const int log = ::open(path("log").c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600);
      ::dup2(log, 1);
      ::dup2(log, 2);
      std::vector<char*> arguments;
      for (std::string& word : words) arguments.push_back(word.data());
      arguments.push_back(nullptr);
      ::execv(arguments[0], arguments.data());
      ::_exit(127);
    }
    for (int i = 0; i < 3000; ++i) {
      if (std::filesystem::exists(path("ready"))) return true;
      int status = 0;
      if (::waitpid(simulator_, &status, WNOHANG) == simulator_) {
        simulator_ = -1;
        exit_status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
        return false;
      }
      std::this_thread::sleep_for(10ms);
    }
    return false;
  }

  /// Its exit status.
  int stop(int signal = SIGTERM) {
    if (simulator_ <= 0) return exit_status;
    ::kill(simulator_, signal);
    int status = 0;
    ::waitpid(simulator_, &status, 0);
    simulator_ = -1;
    return exit_status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }

  std::string log() const { return run("cat '" + path("log") + "'").text; }
  pid_t pid() const { return simulator_; }

  Ran tell(const std::string& words) const {
    return run(BINARY_DIR "/src/sim/roadside-sim tell --control '" + control_folder + "' " + words);
  }
  /// "snmpget" and what follows the address.
  static Ran manager(const std::string& command, int unit, const std::string& arguments,
                     const std::string& level = "-l authPriv -x AES -X 'of elm and yew'") {
    return run(command + " -v3 -u vergeset -a SHA-256 -A 'of oak and ash' " + level +
               " -On -OQ -Oe -r 0 -t 2 " + address(unit) + ":" + std::to_string(port()) + " " + arguments);
  }

  int exit_status = -1;

 private:
  vergeset::test::FleetFolder folder_;
  int seconds_;

 public:
  std::string control_folder = path("control");

 private:
  pid_t simulator_ = -1;
};

}  // namespace served
