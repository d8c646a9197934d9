#pragma once

#include <cstdlib>
#include <filesystem>
#include <memory>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "child.h"
#include "sim/agent_control.h"

/// roadside-sim as a child, and what is told to its units.
namespace crash {

/// Starts it over the fleet of a folder and waits until all units answer. Net-snmp's commands of this
/// process read no configuration of this machine's from then on, and keep none.
inline std::unique_ptr<Child> begin_simulator(const std::string& fleet, const std::string& control,
                                              const std::string& ready,
                                              const std::vector<std::string>& more) {
  ::setenv("SNMPCONFPATH", "/dev/null", 1);
  ::setenv("SNMP_PERSISTENT_DIR", "/dev/null", 1);
  ::setenv("MIBS", "", 1);
  std::vector<std::string> words{BINARY_DIR "/src/sim/roadside-sim",
                                 "--fleet",
                                 fleet,
                                 "--schemas",
                                 SOURCE_DIR "/schemas",
                                 "--control",
                                 control,
                                 "--ready",
                                 ready,
                                 "--reboot-time",
                                 "0",
                                 "--seconds",
                                 "600"};
  words.insert(words.end(), more.begin(), more.end());
  auto simulator = std::make_unique<Child>(std::move(words), Environment());
  for (int i = 0; i < 3000 && !std::filesystem::exists(ready); ++i)
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  if (!std::filesystem::exists(ready)) {
    simulator->signal(SIGTERM);
    throw std::runtime_error("roadside-sim does not start: " + simulator->wait().text);
  }
  return simulator;
}

/// What the unit of a control socket answers to a line.
inline std::string told(const std::string& socket, const std::string& line) {
  const auto answer = vergeset::sim::tell(socket, line);
  if (!answer) throw std::runtime_error(answer.problem());
  if (answer->rfind("error: ", 0) == 0) throw std::runtime_error(*answer);
  return *answer;
}

/// SETs that the unit has got, of what it tells of its counters.
inline int sets_in(const std::string& counters) {
  return std::stoi(counters.substr(counters.find("\nsets ") + 6));
}

}  // namespace crash
