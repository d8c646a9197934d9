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
  /// By unit, where the credential's keys are in the fleet's key store. One that has none there is not there.
  std::map<std::string, std::shared_ptr<const snmp::Principal>> stored;
  /// By credential: why there is no principal (Secrets::may_be_missing).
  std::map<std::string, std::string> missing;
  records::Engines engines;
  records::KnownUnits known;
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

/// Whether a command can go on without the secrets of some of its units, or reads others when it is live.
enum class Secrets { needed, may_be_missing, more_are_read };

/// What every command that talks to units begins with. Nothing where files, choice or secrets that are needed
/// are wrong, which has been complained of then: exit status 2.
std::unique_ptr<Ready> make_ready(const Common& common, const fleet::Choice& choice,
                                  bool accept_replacement = false, Secrets secrets = Secrets::needed);

/// Has replacements of these units accepted in this run (records/known_units.h).
void accept_replacements(Live& live, const std::vector<const fleet::Unit*>& units);

/// Why replacements cannot be accepted of this choice; empty where they can. Each unit has to be named, so
/// that no slip accepts whatever answers at the addresses of a whole fleet.
std::string cannot_accept(const fleet::Choice& choice);

/// Reads the secrets of these units' credentials and makes them into keys, once each. A problem before
/// anything is sent: records that cannot be written, or a secret, told by credential and source and never
/// itself.
/// Where the keys are in the key store, a unit that has none there is told when it is asked.
Result<std::unique_ptr<Live>> go_live(const fleet::Fleet& fleet, const std::vector<const fleet::Unit*>& units,
                                      const std::string& records, Secrets secrets = Secrets::needed);

/// Reads a credential's secrets and makes keys of them.
snmp::PrincipalOr principal_of(const fleet::Fleet& fleet, const fleet::Credential& credential);

}  // namespace vergeset::cli
