#include "snmp/unit_certificate.h"

#include <openssl/x509v3.h>

#include <algorithm>
#include <array>
#include <utility>

namespace vergeset::snmp {

namespace {

bool names_hosts(const X509& certificate) {
  auto* const names =
      static_cast<GENERAL_NAMES*>(X509_get_ext_d2i(&certificate, NID_subject_alt_name, nullptr, nullptr));
  bool any = false;
  for (int i = 0; i < sk_GENERAL_NAME_num(names); ++i) {
    const int type = sk_GENERAL_NAME_value(names, i)->type;
    any = any || type == GEN_DNS || type == GEN_IPADD;
  }
  GENERAL_NAMES_free(names);
  return any;
}

bool names_host(X509& certificate, const std::string& host) {
  return X509_check_ip_asc(&certificate, host.c_str(), 0) == 1 ||
         X509_check_host(&certificate, host.c_str(), host.size(), 0, nullptr) == 1;
}

bool is_about_dates(int verify_error) {
  return verify_error == X509_V_ERR_CERT_HAS_EXPIRED || verify_error == X509_V_ERR_CERT_NOT_YET_VALID;
}

/// "valid from 2026-01-01 to 2026-02-01".
std::string dates_of(const X509& certificate) {
  return "valid from " + day_of(*X509_get0_notBefore(&certificate)) + " to " +
         day_of(*X509_get0_notAfter(&certificate));
}

bool is_in_date(const X509& certificate) {
  return X509_cmp_current_time(X509_get0_notBefore(&certificate)) < 0 &&
         X509_cmp_current_time(X509_get0_notAfter(&certificate)) > 0;
}

Error refusal(Failure failure, std::string text, std::string shown = {}) {
  Error error{failure, 0, 0, std::move(text)};
  error.certificate = std::move(shown);
  return error;
}

std::optional<Error> against_stated(const X509& certificate, const std::string& stated, Failure otherwise,
                                    const std::string& who) {
  const std::string shown = fingerprint_of(certificate);
  if (shown != stated) {
    return refusal(otherwise,
                   who + " shows another certificate than was expected: its fingerprint is " + shown +
                       ", not " + stated +
                       "; where the unit was given a new one, write that under fingerprint:",
                   shown);
  }
  if (is_in_date(certificate)) return std::nullopt;
  return refusal(Failure::expired_certificate, "the certificate of " + who + " is " + dates_of(certificate) +
                                                   "; give the unit a new one, or set this machine's clock");
}

std::optional<Error> against_chain(X509_STORE_CTX& store, const Certified& ours, const std::string& host,
                                   const std::string& who) {
  X509& certificate = *X509_STORE_CTX_get0_cert(&store);
  const std::string whose = "the certificate of " + who + " (" + subject_of(certificate) + ")";
  if (!ours.has_trust) {
    return refusal(Failure::wrong_certificate,
                   "nothing says which certificate " + who + " has; it shows " + fingerprint_of(certificate));
  }
  if (X509_verify_cert(&store) != 1) {
    const int why = X509_STORE_CTX_get_error(&store);
    const X509* const at = X509_STORE_CTX_get_current_cert(&store);
    if (is_about_dates(why)) {
      return refusal(Failure::expired_certificate,
                     whose + ", or one that it was signed by, is " +
                         dates_of(at == nullptr ? std::as_const(certificate) : *at) +
                         "; give the unit a new one, or set this machine's clock");
    }
    return refusal(Failure::wrong_certificate,
                   whose + " is signed by nobody whom trust: names (" + X509_verify_cert_error_string(why) +
                       "); where it is the right one, add who signed it, or write fingerprint: " +
                       fingerprint_of(certificate));
  }
  if (names_hosts(certificate) && !names_host(certificate, host)) {
    return refusal(Failure::wrong_certificate,
                   whose + " is that of another host than " + host +
                       "; where it is the right one, write fingerprint: " + fingerprint_of(certificate));
  }
  return std::nullopt;
}

}  // namespace

std::optional<Error> refusal_of(X509_STORE_CTX& store, const Certified& ours,
                                const ExpectedCertificate& expected, const std::string& who) {
  const X509* const certificate = X509_STORE_CTX_get0_cert(&store);
  if (certificate == nullptr) return refusal(Failure::wrong_certificate, who + " shows no certificate");
  if (!expected.fingerprint.empty())
    return against_stated(*certificate, expected.fingerprint, Failure::other_certificate, who);
  if (!ours.fingerprint.empty())
    return against_stated(*certificate, ours.fingerprint, Failure::wrong_certificate, who);
  if (auto refused = against_chain(store, ours, expected.host, who)) return refused;
  const std::string shown = fingerprint_of(*certificate);
  if (expected.known.empty() || shown == expected.known) return std::nullopt;
  return refusal(
      Failure::other_certificate,
      who + " shows another certificate than it had: its fingerprint is " + shown + ", not " + expected.known,
      shown);
}

bool about_our_certificate(int alert) {
  constexpr std::array alerts = {SSL_AD_BAD_CERTIFICATE,      SSL_AD_UNSUPPORTED_CERTIFICATE,
                                 SSL_AD_CERTIFICATE_REVOKED,  SSL_AD_CERTIFICATE_UNKNOWN,
                                 SSL_AD_UNKNOWN_CA,           SSL_AD_ACCESS_DENIED,
                                 SSL_AD_CERTIFICATE_REQUIRED, SSL_AD_DECRYPT_ERROR};
  return std::find(alerts.begin(), alerts.end(), alert) != alerts.end();
}

}  // namespace vergeset::snmp
