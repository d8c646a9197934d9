#pragma once

#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <string>
#include <thread>

#include "support/snmpd.h"

namespace vergeset::tests {

inline const std::string listening_host = "127.122.2.9";

inline std::string text_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

inline bool holds(const std::string& text, const std::string& words) {
  return text.find(words) != std::string::npos;
}

/// The command as a child, with what it printed in a file.
class Listening {
 public:
  explicit Listening(const std::string& fleet, const std::string& more = {},
                     const std::string& address = listening_host)
      : out_(fleet + "/listen-out"), port_(free_port(address)), tls_port_(free_port(address)) {
    std::filesystem::remove(out_);
    child_ = ::fork();
    if (child_ == 0) {
      const std::string words = std::string("exec env NO_COLOR=1 ") + PROGRAM + " listen --fleet '" + fleet +
                                "' --address " + address + " --port " + std::to_string(port_) +
                                " --tls-port " + std::to_string(tls_port_) + " " + more + " >'" + out_ +
                                "' 2>&1 </dev/null";
      ::execl("/bin/sh", "sh", "-c", words.c_str(), nullptr);
      ::_exit(127);
    }
    says("listening");
  }
  ~Listening() { stop(); }
  Listening(const Listening&) = delete;
  Listening& operator=(const Listening&) = delete;

  /// Whether it says so within ten seconds.
  bool says(const std::string& words) const {
    return within([&] { return holds(out(), words); });
  }
  static bool within(const std::function<bool()>& what) {
    for (int i = 0; i < 1000; ++i) {
      if (what()) return true;
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    return false;
  }
  std::string out() const { return text_of(out_); }
  pid_t pid() const { return child_; }
  std::string at() const { return listening_host + ":" + std::to_string(port_); }
  std::uint16_t port() const { return port_; }
  std::string tls_at() const { return listening_host + ":" + std::to_string(tls_port_); }

  /// Its exit status.
  int stop(int signal = SIGTERM) {
    if (child_ <= 0) return status_;
    ::kill(child_, signal);
    int status = 0;
    ::waitpid(child_, &status, 0);
    child_ = -1;
    return status_ = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }

 private:
  std::string out_;
  std::uint16_t port_;
  std::uint16_t tls_port_;
  pid_t child_ = -1;
  int status_ = -1;
};

}  // namespace vergeset::tests
