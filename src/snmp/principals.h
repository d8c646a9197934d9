#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "smi/result.h"
#include "smi/secret.h"
#include "snmp/network.h"

namespace vergeset::snmp {

/// Who a link can speak as. Made once, for as many links as want it; what is secret in it is wiped when the
/// last holder lets go. Protocols are named as in fleet.yaml: none, MD5, SHA-1, SHA-224, SHA-256, SHA-384,
/// SHA-512; none, DES, AES-128, AES-192, AES-256. They say the security level: with privacy `none`
/// authNoPriv, with both `none` noAuthNoPriv, and the secret of what is `none` is not looked at. Problems
/// never show a secret.
using PrincipalOr = Result<std::shared_ptr<const Principal>>;

/// A user of SNMPv3 with its passwords, which become keys Ku (RFC 3414 A.2; RFC 7860 for SHA-2; about 2.5 ms
/// each). Problems: an unknown protocol, privacy without authentication (RFC 3411 3.4.3), a name of other
/// than 1 to 32 octets, a password of fewer than eight octets (RFC 3414 11.2).
PrincipalOr usm_principal(std::string user, std::string_view auth, const Secret& auth_secret,
                          std::string_view privacy, const Secret& privacy_secret);

/// The same with keys Kul that are localized to one engine (RFC 3414 2.6): it opens that engine alone. The
/// authentication key is as long as its hash. The privacy key is one as localize_key() yields, or at least as
/// long as the cipher's key; what is over is not used.
PrincipalOr localized_principal(std::string user, std::string_view auth, const Secret& auth_key,
                                std::string_view privacy, const Secret& privacy_key, std::string engine_id);

/// A community of SNMPv1 (version "1") or SNMPv2c ("2c"): everything goes in the clear, the community too.
PrincipalOr community_principal(std::string_view version, const Secret& community);

/// Who is spoken for by certificate, over TLS or DTLS (RFC 6353), in PEM as it stands in files.
struct CertificateText {
  bool datagrams = false;     ///< DTLS over UDP, not TLS over TCP
  std::string certificate{};  ///< ours, and what leads from it to its root
  Secret key{};               ///< of ours
  std::string trust{};        ///< the roots of units' certificates; empty: none
  std::string fingerprint{};  ///< of units' certificate, as of Endpoint; empty: none
  bool old_versions = false;  ///< TLS 1.0 and 1.1 too, which RFC 8996 forbids
};
/// Problems: what is no certificate or key, a key of another certificate, ours out of date.
PrincipalOr certificate_principal(const CertificateText& text);

}  // namespace vergeset::snmp
