#include "snmp/principals.h"

#include <utility>

#include "snmp/certified.h"
#include "snmp/protocols.h"

namespace vergeset::snmp {

namespace {

using Made = std::shared_ptr<Principal>;

/// A user of these protocols, yet without keys.
Result<Made> user_of(std::string user, std::string_view auth, std::string_view privacy) {
  if (user.empty() || user.size() > 32) {
    return Problem{"an SNMPv3 user name has 1 to 32 octets (RFC 3414, usmUserName), this one has " +
                   std::to_string(user.size())};
  }
  const auto auth_found = auth_number(auth);
  if (!auth_found) return Problem{auth_found.problem()};
  const auto privacy_found = privacy_number(privacy);
  if (!privacy_found) return Problem{privacy_found.problem()};
  auto made = std::make_shared<Principal>();
  made->user = std::move(user);
  made->auth = *auth_found;
  made->privacy = *privacy_found;
  const bool authentic = made->auth != NETSNMP_USMAUTH_NOAUTH;
  const bool is_private = made->privacy != USM_CREATE_USER_PRIV_NONE;
  if (is_private && !authentic) {
    return Problem{"there is no privacy without authentication (RFC 3411 3.4.3); give the user both"};
  }
  made->level = is_private  ? SNMP_SEC_LEVEL_AUTHPRIV
                : authentic ? SNMP_SEC_LEVEL_AUTHNOPRIV
                            : SNMP_SEC_LEVEL_NOAUTH;
  return made;
}

bool needs_auth_key(const Principal& one) {
  return one.level >= SNMP_SEC_LEVEL_AUTHNOPRIV;
}

bool needs_privacy_key(const Principal& one) {
  return one.level >= SNMP_SEC_LEVEL_AUTHPRIV;
}

std::optional<Problem> take_key(const char* kind, const Secret& given, std::size_t least, std::size_t most,
                                Key& key) {
  if (given.text().size() < least || given.text().size() > most) {
    return Problem{"the localized " + std::string(kind) + " key has " + std::to_string(given.text().size()) +
                   " octets, not " + std::to_string(least) +
                   (most == least ? "" : " to " + std::to_string(most))};
  }
  given.text().copy(reinterpret_cast<char*>(key.octets.data()), given.text().size());
  key.size = given.text().size();
  return {};
}

}  // namespace

PrincipalOr usm_principal(std::string user, std::string_view auth, const Secret& auth_secret,
                          std::string_view privacy, const Secret& privacy_secret) {
  auto made = user_of(std::move(user), auth, privacy);
  if (!made) return Problem{made.problem()};
  Principal& one = **made;
  if (needs_auth_key(one)) {
    if (auto problem = make_key("authentication", one.auth, auth_secret.text(), one.auth_key)) {
      return *problem;
    }
  }
  if (needs_privacy_key(one)) {
    if (auto problem = make_key("privacy", one.auth, privacy_secret.text(), one.privacy_key)) return *problem;
  }
  return std::shared_ptr<const Principal>(*std::move(made));
}

PrincipalOr localized_principal(std::string user, std::string_view auth, const Secret& auth_key,
                                std::string_view privacy, const Secret& privacy_key, std::string engine_id) {
  if (engine_id.size() < 5 || engine_id.size() > SNMP_MAX_ENG_SIZE) {
    return Problem{"an engine id has 5 to 32 octets (RFC 3411, SnmpEngineID), this one has " +
                   std::to_string(engine_id.size())};
  }
  auto made = user_of(std::move(user), auth, privacy);
  if (!made) return Problem{made.problem()};
  Principal& one = **made;
  one.engine_id = std::move(engine_id);
  const std::size_t hash = hash_size(one.auth);
  if (needs_auth_key(one)) {
    if (auto problem = take_key("authentication", auth_key, hash, hash, one.auth_key)) return *problem;
  }
  if (needs_privacy_key(one)) {
    const std::size_t least = std::min(hash, privacy_key_size(one.privacy));
    if (auto problem =
            take_key("privacy", privacy_key, least, one.privacy_key.octets.size(), one.privacy_key)) {
      return *problem;
    }
  }
  return std::shared_ptr<const Principal>(*std::move(made));
}

PrincipalOr certificate_principal(const CertificateText& text) {
  auto certified = make_certified(text);
  if (!certified) return Problem{certified.problem()};
  auto made = std::make_shared<Principal>();
  made->model = Principal::Model::certificate;
  made->level = SNMP_SEC_LEVEL_AUTHPRIV;
  made->certified = *std::move(certified);
  return std::shared_ptr<const Principal>(std::move(made));
}

PrincipalOr community_principal(std::string_view version, const Secret& community) {
  if (version != "1" && version != "2c") {
    return Problem{"unknown version '" + std::string(version) + "' of a community, expected 1 or 2c"};
  }
  if (community.empty() || community.text().size() > 255) {
    return Problem{"a community has 1 to 255 octets, this one has " +
                   std::to_string(community.text().size())};
  }
  auto made = std::make_shared<Principal>();
  made->model = Principal::Model::community;
  made->version = version == "1" ? SNMP_VERSION_1 : SNMP_VERSION_2c;
  made->community = Secret::copy_of(community.text());
  return std::shared_ptr<const Principal>(std::move(made));
}

}  // namespace vergeset::snmp
