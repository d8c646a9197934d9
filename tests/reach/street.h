#pragma once

#include <fcntl.h>
#include <sched.h>
#include <unistd.h>

#include <optional>
#include <stdexcept>
#include <string>

#include "sim/served_fleet.h"
#include "support/snmpd.h"

/// A laptop and a pole, each a network namespace that is gone with the test, with a cable between them.
namespace street {

using served::Ran;

/// A network namespace. What runs inside is forked while an Inside of it lives.
class Place {
 public:
  Place() {
    const int here = open("/proc/thread-self/ns/net", O_RDONLY | O_CLOEXEC);
    if (unshare(CLONE_NEWNET) != 0) {
      throw std::runtime_error("cannot make a network namespace: run these tests as root");
    }
    namespace_ = open("/proc/thread-self/ns/net", O_RDONLY | O_CLOEXEC);
    setns(here, CLONE_NEWNET);
    close(here);
    ip("link set lo up");
  }
  ~Place() { close(namespace_); }
  Place(const Place&) = delete;
  Place& operator=(const Place&) = delete;

  class Inside {
   public:
    explicit Inside(const Place& place) : outside_(open("/proc/thread-self/ns/net", O_RDONLY | O_CLOEXEC)) {
      setns(place.namespace_, CLONE_NEWNET);
    }
    ~Inside() {
      setns(outside_, CLONE_NEWNET);
      close(outside_);
    }
    Inside(const Inside&) = delete;
    Inside& operator=(const Inside&) = delete;

   private:
    int outside_;
  };

  Ran run(const std::string& command) const {
    const Inside inside(*this);
    return served::run(command);
  }
  /// An ip command that has to succeed.
  void ip(const std::string& words) const {
    const Ran ran = run("ip " + words);
    if (ran.status != 0) throw std::runtime_error("ip " + words + ": " + ran.text);
  }
  void sysctl(const std::string& name, const std::string& value) const {
    const Ran ran = run("sysctl -qw " + name + "='" + value + "'");
    if (ran.status != 0) throw std::runtime_error("sysctl " + name + ": " + ran.text);
  }
  std::string path() const {
    return "/proc/" + std::to_string(getpid()) + "/fd/" + std::to_string(namespace_);
  }

 private:
  int namespace_ = -1;
};

/// eth0 of one is cabled to eth0 of the other, and both are on.
inline void cable(const Place& one, const Place& other, const std::string& name = "eth0") {
  one.ip("link add " + name + " type veth peer name eth0 netns " + other.path());
  one.ip("link set " + name + " up");
  other.ip("link set eth0 up");
}

/// A laptop at the cable of a unit: 10.77.1.50/24 and 10.77.1.4/24, where the test gives no others.
class Street {
 public:
  Street() { cable(laptop, pole); }

  void usual_addresses() const {
    laptop.ip("address add 10.77.1.50/24 dev eth0");
    pole.ip("address add 10.77.1.4/24 dev eth0");
  }
  void allow_ping() const { laptop.sysctl("net.ipv4.ping_group_range", "0 2147483647"); }

  Place laptop;
  Place pole;
};

/// A fleet whose credential is `vergeset`, SHA-256 and AES-128, secrets from two environment variables.
class Bench {
 public:
  explicit Bench(const std::string& units) {
    folder_.write("fleet.yaml",
                  "fleet: Larkmoor bench\ntimeout: 300 ms\nretries: 1\ncredentials:\n"
                  "  bench: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: "
                  "SERVED_PRIV}}\n");
    folder_.write("models/agent.yaml",
                  "model: plain-agent\ntitle: plain SNMP agent\nroot: 1.3.6.1.4.1.8072\n"
                  "recognise: {object: sysObjectID, equals: 1.3.6.1.4.1.8072.3.2.10}\nscalars: {}\n");
    folder_.write("units.yaml", "units:\n" + units);
    ::setenv("SERVED_AUTH", "of oak and ash", 1);
    ::setenv("SERVED_PRIV", "of elm and yew", 1);
    ::setenv("SNMPCONFPATH", "/dev/null", 1);
    ::setenv("SNMP_PERSISTENT_DIR", "/dev/null", 1);
    ::setenv("MIBS", "", 1);
  }
  /// "LK-104" at this address, a plain agent.
  static std::string unit(const std::string& address, int port, const std::string& more = {},
                          const std::string& model = "plain-agent") {
    return "  LK-104: {address: \"" + address + "\", port: " + std::to_string(port) + ", model: " + model +
           more + "}\n";
  }

  std::string command(const std::string& words) const {
    return "NO_COLOR=1 " + std::string(PROGRAM) + " reach " + words + " --fleet '" + folder_.path() + "'";
  }
  std::string folder() const { return folder_.path(); }
  void write(const std::string& file, const std::string& text) const { folder_.write(file, text); }
  std::string log() const {
    return served::run("cat '" + folder_.path() + "/records/units/LK-104.log'").text;
  }

 private:
  vergeset::test::FleetFolder folder_{{}};
};

/// Its words in one line, however they were wrapped.
inline std::string flat(const std::string& text) {
  std::string line;
  for (const char c : text) {
    const bool space = c == ' ' || c == '\n';
    if (!space || line.empty() || line.back() != ' ') line += space ? ' ' : c;
  }
  return line;
}

}  // namespace street
