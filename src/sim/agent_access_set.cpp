#include "sim/agent_access_set.h"

#include <set>
#include <string>

#include "sim/access_names.h"
#include "sim/agent_values.h"

namespace vergeset::sim {

namespace {

/// usmUserEngineID and usmUserName, each with its size in front, behind the column (RFC 3414 5).
std::string user_of_row(const netsnmp_variable_list& var) {
  constexpr std::size_t column_size = 12;
  const oid* const end = var.name + var.name_length;
  if (var.name_length <= column_size) return {};
  const oid* at = var.name + column_size;
  if (*at >= static_cast<std::size_t>(end - at)) return {};
  at += *at + 1;
  if (at == end || *at != static_cast<std::size_t>(end - at - 1)) return {};
  std::string name;
  for (++at; at != end; ++at) name += static_cast<char>(static_cast<unsigned char>(*at));
  return name;
}

bool changes_own_key(const smi::Oid& variable) {
  return names_access("usmUserOwnAuthKeyChange", variable) ||
         names_access("usmUserOwnPrivKeyChange", variable);
}

}  // namespace

void stand_before_access(Netsnmp_Node_Handler* handler) {
  std::set<netsnmp_handler_registration*> known;
  for (const netsnmp_subtree* at = netsnmp_subtree_find_first(""); at != nullptr; at = at->next)
    if (at->reginfo != nullptr && of_access(oid_of(at->start_a, at->start_len)) &&
        known.insert(at->reginfo).second)
      netsnmp_inject_handler(at->reginfo, netsnmp_create_handler("before access", handler));
}

void refuse_foreign_keys(netsnmp_agent_request_info* info, netsnmp_request_info* requests) {
  const netsnmp_pdu& pdu = *info->asp->pdu;
  const std::string requester(pdu.securityName == nullptr ? "" : pdu.securityName, pdu.securityNameLen);
  for (auto* request = requests; request != nullptr; request = request->next) {
    const netsnmp_variable_list& var = *request->requestvb;
    if (!changes_own_key(oid_of(var.name, var.name_length))) continue;
    if (pdu.securityModel != SNMP_SEC_MODEL_USM || user_of_row(var) != requester)
      netsnmp_set_request_error(info, request, SNMP_ERR_NOACCESS);
  }
}

}  // namespace vergeset::sim
