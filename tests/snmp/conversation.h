#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "catch.h"
#include "snmp/principals.h"
#include "snmp/udp_network.h"
#include "support/snmpd.h"

namespace vergeset::tests {

inline const smi::Oid sys_descr{1, 3, 6, 1, 2, 1, 1, 1, 0};
inline const smi::Oid sys_up_time{1, 3, 6, 1, 2, 1, 1, 3, 0};
inline const smi::Oid sys_contact{1, 3, 6, 1, 2, 1, 1, 4, 0};
inline const smi::Oid sys_name{1, 3, 6, 1, 2, 1, 1, 5, 0};
inline const smi::Oid sys_location{1, 3, 6, 1, 2, 1, 1, 6, 0};

/// Users of the agent: a keeper who may write, a reader who may not, a stranger who may nothing, and a
/// plain one without a privacy key.
inline const std::string users =
    "createUser keeper SHA-256 auth-of-keeper AES priv-of-keeper\n"
    "rwuser keeper priv\n"
    "createUser reader SHA-256 auth-of-reader AES priv-of-reader\n"
    "rouser reader priv\n"
    "createUser stranger SHA-256 auth-of-stranger AES priv-of-stranger\n"
    "createUser plain SHA-256 auth-of-plain\n"
    "rwuser plain auth\n";

/// The agent of tests that need none of their own: it is started once for a whole program.
inline const Snmpd& common_agent() {
  static const Snmpd agent(users);
  return agent;
}

using PrincipalPtr = std::shared_ptr<const snmp::Principal>;

inline PrincipalPtr principal_of(const std::string& user, const std::string& auth = "SHA-256",
                                 const std::string& privacy = "AES-128", const std::string& auth_secret = {},
                                 const std::string& privacy_secret = {}) {
  auto made = snmp::usm_principal(
      user, auth, Secret::copy_of(auth_secret.empty() ? "auth-of-" + user : auth_secret), privacy,
      Secret::copy_of(privacy_secret.empty() ? "priv-of-" + user : privacy_secret));
  if (!made) throw std::runtime_error(made.problem());
  return *made;
}

inline snmp::Endpoint at(std::uint16_t port, int timeout_ms = 1000, int retries = 1,
                         std::string host = "127.0.0.1") {
  return {std::move(host), port, timeout_ms, retries};
}

/// Runs one task to its end and yields its value.
template <class T>
T finish(snmp::Network& network, snmp::Task<T> task) {
  std::optional<T> result;
  const auto outer = [&]() -> snmp::Task<void> { result.emplace(co_await std::move(task)); };
  std::vector<snmp::Task<void>> tasks;
  tasks.push_back(outer());
  network.run(std::move(tasks), 1);
  return std::move(*result);
}

inline std::unique_ptr<snmp::Link> opened(snmp::Network& network, snmp::Endpoint endpoint,
                                          PrincipalPtr principal) {
  auto result = finish(network, network.open(std::move(endpoint), std::move(principal)));
  if (!result) throw std::runtime_error(result.error.text);
  return std::move(result.link);
}

inline std::string octets_of(const snmp::Answer& answer, std::size_t index = 0) {
  return answer ? answer.varbinds().at(index).value.octets : "failed: " + answer.error().text;
}

inline std::string outcome(const snmp::Answer& answer) {
  return answer ? "answered" : answer.error().text;
}

inline std::vector<snmp::VarBind> text(const smi::Oid& oid, std::string value) {
  std::vector<snmp::VarBind> varbinds;
  varbinds.push_back({oid, smi::Value::of_octets(std::move(value))});
  return varbinds;
}

}  // namespace vergeset::tests
