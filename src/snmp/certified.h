#pragma once

#include <openssl/ssl.h>

#include <memory>
#include <string>

#include "smi/result.h"
#include "snmp/principals.h"

namespace vergeset::snmp {

struct FreeSsl {
  void operator()(SSL* ssl) const { SSL_free(ssl); }
  void operator()(SSL_CTX* context) const { SSL_CTX_free(context); }
  void operator()(X509* certificate) const { X509_free(certificate); }
  void operator()(BIO* octets) const { BIO_free(octets); }
  void operator()(EVP_PKEY* key) const { EVP_PKEY_free(key); }
};
template <class T>
using Owned = std::unique_ptr<T, FreeSsl>;

/// Our certificate with its key, and what is trusted of units', ready for any number of links.
struct Certified {
  Owned<SSL_CTX> context;
  bool datagrams = false;
  bool has_trust = false;
  std::string fingerprint;  ///< of units' certificate; empty: none stated
};

Result<std::shared_ptr<const Certified>> make_certified(const CertificateText& text);

/// The same certificate, key, trust and versions for the side that units connect to. Nothing is resumed and
/// nothing is negotiated anew, so that every connection has shown its certificate. Null where this system's
/// OpenSSL makes none.
Owned<SSL_CTX> server_context(const Certified& ours);

/// "sha256:" and the digest of the certificate in hex.
std::string fingerprint_of(const X509& certificate);

/// "2026-11-26": the day of a time that a certificate states.
std::string day_of(const ASN1_TIME& time);

/// "CN = LK-104": whom a certificate is of; inert in a terminal.
std::string subject_of(const X509& certificate);

}  // namespace vergeset::snmp
