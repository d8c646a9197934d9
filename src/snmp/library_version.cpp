#include "snmp/library_version.h"

#include "snmp/library.h"

namespace vergeset::snmp {

std::string library_version() {
  return netsnmp_get_version();
}

}  // namespace vergeset::snmp
