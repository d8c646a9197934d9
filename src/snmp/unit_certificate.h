#pragma once

#include <optional>
#include <string>

#include "snmp/certified.h"
#include "snmp/network.h"

namespace vergeset::snmp {

/// What of a unit's certificate is expected beside what its credential says.
struct ExpectedCertificate {
  std::string host;         ///< as the inventory has it
  std::string fingerprint;  ///< of this unit alone; empty: none stated
  std::string known;        ///< which it was seen to have; empty: not known
};

/// Holds the certificate that a unit shows, whichever side began the handshake, against its fingerprint where
/// one is stated, or else against the roots that are trusted, the host and the one that it was seen to have,
/// and against its dates. Nothing where it is the unit's; otherwise what is wrong and what to do. `who` names
/// the unit in the text. The store is asked once at most, as OpenSSL wants it.
std::optional<Error> refusal_of(X509_STORE_CTX& store, const Certified& ours,
                                const ExpectedCertificate& expected, const std::string& who);

/// Whether an alert is one with which a unit turns our certificate down (RFC 5246 7.2.2, RFC 8446 6.2).
bool about_our_certificate(int alert);

}  // namespace vergeset::snmp
