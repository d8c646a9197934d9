#pragma once

#include <sys/types.h>

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "smi/result.h"
#include "smi/secret.h"
#include "snmp/network.h"
#include "snmp/principal.h"

namespace vergeset::cli {

/// The `roadside-sim` that belongs to this program: beside it, where a build puts it, or in libexec of the
/// installation. A problem that says where it was looked for.
Result<std::string> simulator();

/// A user of SNMPv3 for twins alone, with secrets drawn at random: what a unit's real secrets open is never
/// shown to a twin.
struct TwinUser {
  std::string name;
  Secret auth;
  Secret privacy;
  std::shared_ptr<const snmp::Principal> principal;
};
Result<TwinUser> draw_twin_user();

/// Twins, served by a roadside-sim of our own over SNMPv3 on loopback, as long as this object lives. It gets
/// what it is to serve, secrets and all, through a socket and nothing else: an empty environment, no file.
/// It ends when that socket closes, so also when this process dies in whatever way.
class ServedTwins {
 public:
  /// `twins` as change::twin_text has them. The problem is what the simulator said.
  static Result<std::unique_ptr<ServedTwins>> serve(const std::string& program, const fleet::Fleet& fleet,
                                                    const TwinUser& user,
                                                    const std::vector<std::string>& twins);
  ~ServedTwins();
  ServedTwins(const ServedTwins&) = delete;
  ServedTwins& operator=(const ServedTwins&) = delete;

  /// Of each twin, in their order: its port at 127.0.0.1.
  const std::vector<std::uint16_t>& ports() const { return ports_; }

 private:
  ServedTwins() = default;
  std::string start(const std::string& program, const fleet::Fleet& fleet);
  bool tell(std::string_view text) const;
  std::string hear(std::size_t twins);

  pid_t process_ = -1;
  int lifeline_ = -1;
  int output_ = -1;
  std::vector<std::uint16_t> ports_;
};

}  // namespace vergeset::cli
