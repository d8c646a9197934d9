#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "change/settle.h"
#include "snmp/udp_network.h"
#include "snmp/user_keys.h"

namespace vergeset::cli {

/// What a command has that talks to units: the network, the records, the clock, and the keys of every
/// credential that its units use. Links are gone before it goes.
struct Live {
  Live(const fleet::Fleet& fleet, const std::string& records);
  Live(const Live&) = delete;
  Live& operator=(const Live&) = delete;

  records::FolderDisk disk;
  records::SystemClock clock;
  snmp::UdpNetwork network;
  std::map<std::string, std::shared_ptr<const snmp::UserKeys>> keys;  ///< by credential
  change::World world;
};

/// Reads the secrets of these units' credentials and makes them into keys, once each. A problem, which
/// names credential and source and never the secret, before anything is sent.
Result<std::unique_ptr<Live>> go_live(const fleet::Fleet& fleet, const std::vector<const fleet::Unit*>& units,
                                      const std::string& records);

}  // namespace vergeset::cli
