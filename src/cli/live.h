#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "change/settle.h"
#include "cli/common.h"
#include "cli/progress.h"
#include "snmp/principal.h"
#include "snmp/principals.h"
#include "snmp/udp_network.h"

namespace vergeset::cli {

/// What a command has that talks to units: the network, the records, the clock, and the principal of
/// every credential that its units use. Links are gone before it goes.
struct Live {
  Live(const fleet::Fleet& fleet, const std::string& records);
  /// Remembers the engines that were heard. Where that cannot be written they are discovered next time.
  ~Live();
  Live(const Live&) = delete;
  Live& operator=(const Live&) = delete;

  records::FolderDisk disk;
  records::SystemClock clock;
  snmp::UdpNetwork network;
  std::map<std::string, std::shared_ptr<const snmp::Principal>> principals;  ///< by credential
  records::Engines engines;
  change::World world;
};

/// Shows how far the reading of so many units has got, as long as it lives.
class Watching {
 public:
  Watching(Live& live, std::size_t units, const Pace& pace);
  ~Watching();
  Watching(const Watching&) = delete;
  Watching& operator=(const Watching&) = delete;

 private:
  Live& live_;
  ProgressLine line_;
};

/// The fleet, the units that were chosen, and the way to them.
struct Ready {
  explicit Ready(fleet::Fleet&& loaded) : fleet(std::move(loaded)) {}

  const fleet::Fleet fleet;
  std::vector<const fleet::Unit*> units;
  std::unique_ptr<Live> live;
};

/// Reads the secrets of a credential and makes what a link speaks as. A problem names the credential, and
/// never tells a secret.
snmp::PrincipalOr principal_of(const fleet::Fleet& fleet, const fleet::Credential& credential);

/// What every command that talks to units begins with. Nothing where files, choice or secrets are wrong,
/// which has been complained of then: exit status 2.
std::unique_ptr<Ready> make_ready(const Common& common, const fleet::Choice& choice);

/// Reads the secrets of these units' credentials and makes them into keys, once each. A problem before
/// anything is sent: records that cannot be written, or a secret, told by credential and source and never
/// itself.
Result<std::unique_ptr<Live>> go_live(const fleet::Fleet& fleet, const std::vector<const fleet::Unit*>& units,
                                      const std::string& records);

}  // namespace vergeset::cli
