#pragma once

#include <cstddef>
#include <istream>
#include <string>
#include <vector>

#include "sim/unit_start.h"

namespace vergeset::sim {

/// Twins of real units, as whoever surveyed these describes them to `roadside-sim twins`: one JSON object a
/// line, through a pipe, so that neither the secrets nor what a unit holds is ever on disk, on a command
/// line or in an environment. First who may ask them, and how many follow:
///   {"twins":2,"user":"u","auth":"SHA-256","auth-secret":"...","privacy":"AES-128","privacy-secret":"..."}
/// Then each twin, and its values as in a state file (state_file.h), here of all that the unit answered:
///   {"unit":"LK-104","model":"ntcip1218-v01","engine-id":"800000...","mode":4,"refuse-after":6,
///    "needs-standby":{"rsuMsgRepeatPsid":true},"absent":["rsuHostIpAddr"],"cells":312}
///   {"object":"rsuID","index":0,"type":"OCTET STRING","value":"4c4b2d313034"}
/// `mode` (as ModeRule::status shows it) may be missing, and so may `refuse-after`: so many SETs pass, and
/// the next is refused with genErr. Twins are served at 127.0.0.1, each at a port that the system chooses.

struct TwinUser {
  std::size_t twins = 0;
  std::string user;
  std::string auth;
  std::string auth_secret;
  std::string privacy;
  std::string privacy_secret;
};

/// The first line, and then as many twins as it says. Problems name the line; no value is told.
Result<TwinUser> read_twin_user(std::istream& lines);
Result<std::vector<UnitStart>> read_twins(std::istream& lines, std::size_t count);

}  // namespace vergeset::sim
