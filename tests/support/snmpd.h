#pragma once

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace vergeset::tests {

/// A UDP socket on a loopback address; port 0 takes a free one.
class UdpSocket {
 public:
  explicit UdpSocket(const std::string& host, std::uint16_t port = 0)
      : descriptor_(socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address = address_of(host, port);
    if (descriptor_ < 0 || bind(descriptor_, reinterpret_cast<sockaddr*>(&address), sizeof address) != 0) {
      throw std::runtime_error("cannot bind " + host);
    }
    socklen_t size = sizeof address;
    getsockname(descriptor_, reinterpret_cast<sockaddr*>(&address), &size);
    port_ = ntohs(address.sin_port);
  }
  ~UdpSocket() { close(descriptor_); }
  UdpSocket(const UdpSocket&) = delete;
  UdpSocket& operator=(const UdpSocket&) = delete;

  int descriptor() const { return descriptor_; }
  std::uint16_t port() const { return port_; }

  static sockaddr_in address_of(const std::string& host, std::uint16_t port) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(port);
    inet_pton(AF_INET, host.c_str(), &address.sin_addr);
    return address;
  }

 private:
  int descriptor_;
  std::uint16_t port_ = 0;
};

/// A port of this address that nothing listens on.
inline std::uint16_t free_port(const std::string& host) {
  return UdpSocket(host).port();
}

/// An empty folder that goes with all that is in it.
class TemporaryFolder {
 public:
  TemporaryFolder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "vergeset-test-XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("cannot make a temporary folder");
    path_ = pattern;
  }
  ~TemporaryFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

/// What an agent has beside: further addresses that it serves ("dtlsudp:127.0.7.3:10161"), variables of its
/// environment, and files that are put into its folder before it starts.
struct Beside {
  std::vector<std::string> addresses{};
  std::vector<std::string> environment{};
  std::function<void(const std::filesystem::path& folder)> prepare{};
};

/// net-snmp's own agent on a free port of a loopback address, with configuration and state of its own.
/// Answers from construction on; ended by its process id.
class Snmpd {
 public:
  /// `config` as in snmpd.conf(5): "createUser ...", "rwuser ...". `state` becomes the persistent
  /// snmpd.conf of the first start ("engineBoots 5", "oldEngineID 0x...").
  explicit Snmpd(const std::string& config, const std::string& state = {}, std::string host = "127.0.0.1",
                 Beside beside = {})
      : host_(std::move(host)), port_(free_port(host_)), beside_(std::move(beside)) {
    if (beside_.prepare) beside_.prepare(folder_.path());
    std::filesystem::create_directory(folder_.path() / "state");
    std::ofstream(folder_.path() / "snmpd.conf") << config << '\n';
    if (!state.empty()) std::ofstream(folder_.path() / "state" / "snmpd.conf") << state << '\n';
    start();
  }
  ~Snmpd() { stop(); }
  Snmpd(const Snmpd&) = delete;
  Snmpd& operator=(const Snmpd&) = delete;

  const std::string& host() const { return host_; }
  std::uint16_t port() const { return port_; }

  /// Ends it and starts it anew with the state it has kept: snmpEngineBoots grows by one.
  void restart() {
    stop();
    start();
  }

  void stop() {
    if (pid_ <= 0) return;
    kill(pid_, SIGTERM);
    for (int i = 0; waitpid(pid_, nullptr, WNOHANG) == 0; ++i) {
      if (i == 200) kill(pid_, SIGKILL);
      // It looks at the signal only when something comes in.
      ask();
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    pid_ = -1;
  }

 private:
  void start() {
    const std::string folder = folder_.path().string();
    const std::string pid_file = folder + "/pid";
    const std::string address = "udp:" + host_ + ":" + std::to_string(port_);
    const std::string state = "SNMP_PERSISTENT_DIR=" + folder + "/state";
    const std::string config = "SNMPCONFPATH=" + folder + ":" + folder + "/state";
    std::vector<const char*> words = {"snmpd",          "-f",           "-Lf", "/dev/null", "-p",
                                      pid_file.c_str(), address.c_str()};
    for (const std::string& further : beside_.addresses) words.push_back(further.c_str());
    words.push_back(nullptr);
    std::vector<const char*> environment = {state.c_str(), config.c_str(),
                                            "MIBS=", "PATH=/usr/sbin:/usr/bin"};
    for (const std::string& further : beside_.environment) environment.push_back(further.c_str());
    environment.push_back(nullptr);
    pid_ = fork();
    if (pid_ == 0) {
      prctl(PR_SET_PDEATHSIG, SIGKILL);  // a test that crashes leaves no agent behind
      const int nowhere = open("/dev/null", O_RDWR);
      for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) dup2(nowhere, stream);
      execve("/usr/sbin/snmpd", const_cast<char**>(words.data()), const_cast<char**>(environment.data()));
      _exit(127);
    }
    if (pid_ < 0) throw std::runtime_error("cannot start snmpd");
    wait_until_it_answers();
  }

  /// Asks for the engine id (RFC 3414 section 4) until an answer comes.
  void wait_until_it_answers() {
    drain();  // of what its predecessor answered
    for (int i = 0; i < 500; ++i) {
      ask();
      pollfd readable{asking_.descriptor(), POLLIN, 0};
      if (poll(&readable, 1, 20) == 1) return drain();
      if (waitpid(pid_, nullptr, WNOHANG) == pid_) throw std::runtime_error("snmpd ended at once");
    }
    throw std::runtime_error("snmpd does not answer");
  }

  void ask() {
    static constexpr unsigned char question[] = {
        0x30, 0x3a, 0x02, 0x01, 0x03, 0x30, 0x0f, 0x02, 0x02, 0x12, 0x34, 0x02, 0x03, 0x00, 0xff,
        0xe3, 0x04, 0x01, 0x04, 0x02, 0x01, 0x03, 0x04, 0x10, 0x30, 0x0e, 0x04, 0x00, 0x02, 0x01,
        0x00, 0x02, 0x01, 0x00, 0x04, 0x00, 0x04, 0x00, 0x04, 0x00, 0x30, 0x12, 0x04, 0x00, 0x04,
        0x00, 0xa0, 0x0c, 0x02, 0x02, 0x12, 0x34, 0x02, 0x01, 0x00, 0x02, 0x01, 0x00, 0x30, 0x00};
    const sockaddr_in address = UdpSocket::address_of(host_, port_);
    sendto(asking_.descriptor(), question, sizeof question, 0, reinterpret_cast<const sockaddr*>(&address),
           sizeof address);
  }

  void drain() {
    char octet = 0;
    while (recv(asking_.descriptor(), &octet, 1, MSG_DONTWAIT) >= 0) continue;
  }

  TemporaryFolder folder_;
  std::string host_;
  std::uint16_t port_;
  Beside beside_;
  UdpSocket asking_{host_};
  pid_t pid_ = -1;
};

}  // namespace vergeset::tests
