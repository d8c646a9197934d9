#include "snmp/failure.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <system_error>

namespace vergeset::snmp {

namespace {

constexpr std::array status_names = {"noError",
                                     "tooBig",
                                     "noSuchName",
                                     "badValue",
                                     "readOnly",
                                     "genErr",
                                     "noAccess",
                                     "wrongType",
                                     "wrongLength",
                                     "wrongEncoding",
                                     "wrongValue",
                                     "noCreation",
                                     "inconsistentValue",
                                     "resourceUnavailable",
                                     "commitFailed",
                                     "undoFailed",
                                     "authorizationError",
                                     "notWritable",
                                     "inconsistentName"};

/// True where the REPORT carries the counter `arc` of `group`, whatever its instance.
bool carries(const netsnmp_variable_list& counter, std::initializer_list<oid> group, oid arc) {
  return counter.name_length > group.size() && std::equal(group.begin(), group.end(), counter.name) &&
         counter.name[group.size()] == arc;
}

}  // namespace

std::string_view status_name(int status) {
  const auto index = static_cast<std::size_t>(status);
  return status >= 0 && index < status_names.size() ? status_names[index] : "unknown error-status";
}

Error report_error(const netsnmp_pdu& report) {
  const auto usm_stats = {oid{1}, oid{3}, oid{6}, oid{1}, oid{6}, oid{3}, oid{15}, oid{1}, oid{1}};
  const netsnmp_variable_list* counter = report.variables;
  const auto is = [&](oid arc) { return counter != nullptr && carries(*counter, usm_stats, arc); };
  if (is(1)) {
    return {Failure::bad_level, 0, 0,
            "the unit does not grant this user authentication with privacy (usmStatsUnsupportedSecLevels)"};
  }
  if (is(2)) {
    return {Failure::clock_window, 0, 0,
            "the unit's SNMPv3 clock does not agree with what it said before (usmStatsNotInTimeWindows)"};
  }
  if (is(3)) {
    return {Failure::unknown_user, 0, 0, "the unit does not know this user (usmStatsUnknownUserNames)"};
  }
  if (is(4)) {
    return {Failure::bad_answer, 0, 0,
            "the unit has another engine id now (usmStatsUnknownEngineIDs); open it anew"};
  }
  if (is(5)) {
    return {Failure::wrong_auth, 0, 0,
            "the unit does not take the authentication secret or protocol (usmStatsWrongDigests)"};
  }
  if (is(6)) {
    return {Failure::wrong_privacy, 0, 0,
            "the unit does not take the privacy secret or protocol (usmStatsDecryptionErrors)"};
  }
  return {Failure::bad_answer, 0, 0, "the unit answered with a report that says nothing of the request"};
}

Error send_error(int library_error, int system_error, const std::string& peer) {
  if (library_error == SNMPERR_TOO_LONG || system_error == EMSGSIZE) {
    return {Failure::too_big, 0, 0, "the request is larger than one message may be"};
  }
  if (library_error != SNMPERR_BAD_SENDTO) {
    return {Failure::local, 0, 0,
            std::string("the request could not be made: ") + snmp_api_errstring(library_error)};
  }
  if (system_error == ECONNREFUSED) {
    Error error{Failure::unreachable, 0, 0, "nothing listens at " + peer + " (connection refused)"};
    error.refused = true;
    return error;
  }
  const std::string why = std::generic_category().message(system_error);
  const bool route = system_error == ENETUNREACH || system_error == EHOSTUNREACH ||
                     system_error == ENETDOWN || system_error == EHOSTDOWN || system_error == EACCES ||
                     system_error == EPERM;
  return {route ? Failure::unreachable : Failure::local, 0, 0, "cannot send to " + peer + ": " + why};
}

Error garbled_error(int library_error, const std::string& peer) {
  switch (library_error) {
    case SNMPERR_USM_AUTHENTICATIONFAILURE:
    case SNMPERR_AUTHENTICATION_FAILURE:
      return {Failure::wrong_auth, 0, 0, "answers of " + peer + " do not authenticate with this user's key"};
    case SNMPERR_USM_DECRYPTIONERROR:
    case SNMPERR_DECRYPTION_ERR:
      return {Failure::wrong_privacy, 0, 0, "answers of " + peer + " do not decrypt with this user's key"};
    case SNMPERR_USM_NOTINTIMEWINDOW:
    case SNMPERR_NOT_IN_TIME_WINDOW:
      return {Failure::clock_window, 0, 0, "the SNMPv3 clock of " + peer + " runs backwards; open it anew"};
    default:
      return {Failure::bad_answer, 0, 0, "what " + peer + " answers is not SNMPv3"};
  }
}

Error status_error(int status, std::size_t index, const std::string& at) {
  constexpr int too_big = SNMP_ERR_TOOBIG;
  const std::string text =
      "the unit answered " + std::string(status_name(status)) + (at.empty() ? std::string() : " for " + at);
  const Failure failure = status == too_big ? Failure::too_big
                          : status == SNMP_ERR_NOACCESS || status == SNMP_ERR_AUTHORIZATIONERROR
                              ? Failure::no_access
                              : Failure::error_status;
  return {failure, status, index, text};
}

}  // namespace vergeset::snmp
