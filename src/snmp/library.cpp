#include "snmp/library.h"

#include <array>
#include <random>

namespace vergeset::snmp {

namespace {

/// The library compares every engine that answers with its own id, so its own must differ from that
/// of any unit. Made at random (RFC 3411, SnmpEngineID: enterprise, then 5 for administratively
/// assigned octets); it is never sent.
void choose_own_engine() {
  std::array<u_char, 16> id = {0x80, 0x00, 0x1f, 0x88, 5};
  std::random_device random;
  for (std::size_t i = 5; i < id.size(); ++i) id[i] = static_cast<u_char>(random());
  set_exact_engineID(id.data(), id.size());
}

bool start() {
  for (const int option :
       {NETSNMP_DS_LIB_DONT_READ_CONFIGS, NETSNMP_DS_LIB_DONT_PERSIST_STATE,
        NETSNMP_DS_LIB_DISABLE_PERSISTENT_LOAD, NETSNMP_DS_LIB_DISABLE_PERSISTENT_SAVE,
        NETSNMP_DS_LIB_DONT_LOAD_HOST_FILES, NETSNMP_DS_LIB_DISABLE_V1, NETSNMP_DS_LIB_DISABLE_V2c}) {
    netsnmp_ds_set_boolean(NETSNMP_DS_LIBRARY_ID, option, 1);
  }
  netsnmp_ds_set_string(NETSNMP_DS_LIBRARY_ID, NETSNMP_DS_LIB_APPTYPE, "vergeset");
  // Without a handler it logs to stderr.
  netsnmp_register_loghandler(NETSNMP_LOGHANDLER_NONE, LOG_DEBUG);
  choose_own_engine();
  init_snmpv3("vergeset");
  // Stands for the end of reading configuration: makes the nameless user that discovery needs.
  snmp_call_callbacks(SNMP_CALLBACK_LIBRARY, SNMP_CALLBACK_POST_PREMIB_READ_CONFIG, nullptr);
  return true;
}

}  // namespace

void start_library() {
  static const bool started [[maybe_unused]] = start();
}

}  // namespace vergeset::snmp
