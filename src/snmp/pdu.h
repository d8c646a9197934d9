#pragma once

#include <memory>
#include <optional>
#include <variant>
#include <vector>

#include "snmp/library.h"
#include "snmp/network.h"

namespace vergeset::snmp {

struct FreePdu {
  void operator()(netsnmp_pdu* pdu) const { snmp_free_pdu(pdu); }
};
using Pdu = std::unique_ptr<netsnmp_pdu, FreePdu>;

/// What is asked of a unit; can be made into a PDU any number of times.
struct Request {
  int command = SNMP_MSG_GET;  ///< GET, GETNEXT, GETBULK or SET
  std::vector<VarBind> varbinds;
  int non_repeaters = 0;  ///< of GETBULK (RFC 3416 4.2.3)
  int repetitions = 0;
};

/// The PDU of a request, or a local failure: an object identifier or a value that SNMP cannot carry.
std::variant<Pdu, Error> make_pdu(const Request& request);

/// A GET without user, engine and variable bindings, which every engine answers with a REPORT that
/// has its id (RFC 3414 section 4).
Pdu make_discovery_pdu();

/// The variable bindings of a PDU; a value of a type that SNMP does not know is a bad answer.
Answer read_varbinds(const netsnmp_pdu& pdu);

/// What a Response-PDU says to the request.
Answer read_response(const Request& request, const netsnmp_pdu& response);

}  // namespace vergeset::snmp
