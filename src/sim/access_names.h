#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "smi/oid.h"

namespace vergeset::sim {

/// Objects of usmUser (RFC 3414 5) and of the tables of RFC 3415 4, which net-snmp's agent library
/// serves: no model has them, and the store knows nothing of them. Here so that troubles can be told of
/// them by name.

/// True of every variable there, and of what would be one.
bool of_access(const smi::Oid& oid);

/// True where `name` is the object that the variable is of, or its table: "usmUserAuthKeyChange",
/// "usmUserTable".
bool names_access(std::string_view name, const smi::Oid& variable);

std::vector<std::string> access_names();

}  // namespace vergeset::sim
