#pragma once

#include <sys/types.h>

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "sim/agent_library.h"

namespace vergeset::sim {

struct LoadOptions {
  std::string fleet;
  std::string schemas;
  std::vector<std::string> units;        ///< names or patterns; empty: all
  std::vector<std::string> credentials;  ///< whom the units know; empty: each its own
  std::string dead;                      ///< as dead_units() takes it
  bool desired = false;                  ///< units start as the files ask
  bool twins = false;                    ///< not the fleet's own units: twins that standard input describes
};

/// The users and units that a fleet's files name, by value.
struct Roll {
  std::map<std::string, AgentUser> users;  ///< by credential
  std::vector<std::string> known;          ///< credentials that every unit knows, in place of its own
  std::vector<std::string> units;
  std::set<std::string> dead;
};

/// The users that a unit of this credential knows.
std::vector<AgentUser> users_known(const Roll& roll, const std::string& credential);

/// Reads a fleet in a process of its own, which hands over one unit after the other and ends: a large
/// fleet is then never in the memory that the units are forked from (10,000 units: 0.5 GB, of which
/// each would have 1 MB of page tables, and each fork take 5 ms).
class Loader {
 public:
  explicit Loader(const LoadOptions& options);
  ~Loader();
  Loader(const Loader&) = delete;
  Loader& operator=(const Loader&) = delete;

  /// First. Nothing where the fleet cannot be served: that is told on stderr, and status() says more.
  std::optional<Roll> roll();
  /// Then a packed UnitStart for each unit of the roll; nothing where the process has died.
  std::optional<std::string> next();

  int pipe() const { return pipe_; }
  void close_pipe();
  /// Waits for the process to end. Its exit status; 1 where a signal ended it.
  int status();

 private:
  int pipe_ = -1;
  pid_t process_ = -1;
};

}  // namespace vergeset::sim
