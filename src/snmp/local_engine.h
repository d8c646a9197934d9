#pragma once

#include <string>
#include <string_view>

#include "snmp/usm_message.h"

namespace vergeset::snmp {

/// Over TLS and DTLS nothing in a message says which engine is spoken to. A sender of informs asks: a Get of
/// snmpEngineID.0 in the context of localEngineID (RFC 5343 3.1, 3.2). The scoped PDU that answers it, where
/// every other object is noSuchObject (RFC 3416 4.2.1); empty where what was asked is no such Get.
std::string local_engine_answer(const ScopedPdu& asked, std::string_view engine_id);

}  // namespace vergeset::snmp
