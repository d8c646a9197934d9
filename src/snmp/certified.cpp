#include "snmp/certified.h"

#include <openssl/err.h>
#include <openssl/pem.h>
#include <openssl/x509v3.h>

#include <array>
#include <ctime>
#include <utility>
#include <vector>

#include "smi/value.h"

namespace vergeset::snmp {

namespace {

Owned<BIO> octets_of(std::string_view text) {
  return Owned<BIO>(BIO_new_mem_buf(text.data(), static_cast<int>(text.size())));
}

/// Where a key is encrypted nobody is asked for its passphrase.
int no_passphrase(char*, int, int, void*) {
  return -1;
}

std::vector<Owned<X509>> certificates_of(std::string_view pem) {
  std::vector<Owned<X509>> all;
  const Owned<BIO> octets = octets_of(pem);
  while (X509* const one = PEM_read_bio_X509(octets.get(), nullptr, no_passphrase, nullptr))
    all.emplace_back(one);
  ERR_clear_error();
  return all;
}

std::optional<Problem> check_dates(const X509& ours) {
  const ASN1_TIME& from = *X509_get0_notBefore(&ours);
  const ASN1_TIME& until = *X509_get0_notAfter(&ours);
  if (X509_cmp_current_time(&until) < 0) {
    return Problem{"our certificate expired on " + day_of(until) + "; have a new one signed"};
  }
  if (X509_cmp_current_time(&from) > 0) {
    return Problem{"our certificate is valid from " + day_of(from) +
                   " on only; is this machine's clock right?"};
  }
  return {};
}

/// Ours first, then what leads from it to its root.
std::optional<Problem> use_certificates(SSL_CTX& context, std::string_view pem) {
  const std::vector<Owned<X509>> all = certificates_of(pem);
  if (all.empty()) return Problem{"our certificate is no certificate in PEM"};
  if (auto problem = check_dates(*all.front())) return problem;
  if (SSL_CTX_use_certificate(&context, all.front().get()) != 1) {
    ERR_clear_error();
    return Problem{
        "our certificate is too weak for this system's OpenSSL, as with RSA of fewer than 2048 bits"};
  }
  for (std::size_t i = 1; i < all.size(); ++i) SSL_CTX_add1_chain_cert(&context, all[i].get());
  return {};
}

std::optional<Problem> use_key(SSL_CTX& context, const Secret& pem) {
  const Owned<BIO> octets = octets_of(pem.text());
  const Owned<EVP_PKEY> key(PEM_read_bio_PrivateKey(octets.get(), nullptr, no_passphrase, nullptr));
  const bool used =
      key && SSL_CTX_use_PrivateKey(&context, key.get()) == 1 && SSL_CTX_check_private_key(&context) == 1;
  ERR_clear_error();
  if (!key) {
    return Problem{
        "the key of our certificate is no private key in PEM, or has a passphrase; take it out and "
        "let the file's mode guard it"};
  }
  if (!used) return Problem{"the key is not that of our certificate"};
  return {};
}

std::optional<Problem> use_trust(SSL_CTX& context, std::string_view pem) {
  const std::vector<Owned<X509>> all = certificates_of(pem);
  if (all.empty()) return Problem{"what is trusted is no certificate in PEM"};
  X509_STORE* const store = SSL_CTX_get_cert_store(&context);
  for (const Owned<X509>& one : all) X509_STORE_add_cert(store, one.get());
  return {};
}

/// RFC 6353 and RFC 8996 want TLS 1.2 and DTLS 1.2 at least. What is older hashes with MD5 and SHA-1, which
/// OpenSSL allows at its lowest level alone.
void choose_versions(SSL_CTX& context, bool datagrams, bool old) {
  if (old) SSL_CTX_set_security_level(&context, 0);
  const int tls = old ? TLS1_VERSION : TLS1_2_VERSION;
  const int dtls = old ? DTLS1_VERSION : DTLS1_2_VERSION;
  SSL_CTX_set_min_proto_version(&context, datagrams ? dtls : tls);
  SSL_CTX_set_mode(&context, SSL_MODE_ENABLE_PARTIAL_WRITE | SSL_MODE_ACCEPT_MOVING_WRITE_BUFFER);
  SSL_CTX_set_session_cache_mode(&context, SSL_SESS_CACHE_OFF);
}

}  // namespace

Result<std::shared_ptr<const Certified>> make_certified(const CertificateText& text) {
  auto made = std::make_shared<Certified>();
  made->datagrams = text.datagrams;
  made->fingerprint = text.fingerprint;
  made->context.reset(SSL_CTX_new(text.datagrams ? DTLS_client_method() : TLS_client_method()));
  if (!made->context) return Problem{"this system's OpenSSL makes no TLS client"};
  SSL_CTX& context = *made->context;
  choose_versions(context, text.datagrams, text.old_versions);
  if (auto problem = use_certificates(context, text.certificate)) return *problem;
  if (auto problem = use_key(context, text.key)) return *problem;
  made->has_trust = !text.trust.empty();
  if (made->has_trust) {
    if (auto problem = use_trust(context, text.trust)) return *problem;
  }
  return std::shared_ptr<const Certified>(std::move(made));
}

Owned<SSL_CTX> server_context(const Certified& ours) {
  SSL_CTX& client = *ours.context;
  Owned<SSL_CTX> made(SSL_CTX_new(ours.datagrams ? DTLS_server_method() : TLS_server_method()));
  if (!made) return made;
  SSL_CTX& server = *made;
  SSL_CTX_set_security_level(&server, SSL_CTX_get_security_level(&client));
  SSL_CTX_set_min_proto_version(&server, static_cast<int>(SSL_CTX_get_min_proto_version(&client)));
  STACK_OF(X509)* chain = nullptr;
  SSL_CTX_get0_chain_certs(&client, &chain);
  const bool same = SSL_CTX_use_certificate(&server, SSL_CTX_get0_certificate(&client)) == 1 &&
                    SSL_CTX_use_PrivateKey(&server, SSL_CTX_get0_privatekey(&client)) == 1;
  ERR_clear_error();
  if (!same) return {};
  if (chain != nullptr) SSL_CTX_set1_chain(&server, chain);
  SSL_CTX_set1_cert_store(&server, SSL_CTX_get_cert_store(&client));
  SSL_CTX_set_options(&server, SSL_OP_NO_TICKET | SSL_OP_NO_RENEGOTIATION | SSL_OP_CIPHER_SERVER_PREFERENCE);
  SSL_CTX_set_num_tickets(&server, 0);
  SSL_CTX_set_session_cache_mode(&server, SSL_SESS_CACHE_OFF);
  SSL_CTX_set_mode(&server, SSL_MODE_RELEASE_BUFFERS);
  return made;
}

std::string fingerprint_of(const X509& certificate) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned size = 0;
  X509_digest(&certificate, EVP_sha256(), digest.data(), &size);
  return "sha256:" + smi::to_hex({reinterpret_cast<const char*>(digest.data()), size});
}

std::string day_of(const ASN1_TIME& time) {
  std::tm parts{};
  std::array<char, 16> text{};
  if (ASN1_TIME_to_tm(&time, &parts) != 1) return "an unreadable day";
  std::strftime(text.data(), text.size(), "%Y-%m-%d", &parts);
  return text.data();
}

std::string subject_of(const X509& certificate) {
  const Owned<BIO> text(BIO_new(BIO_s_mem()));
  constexpr unsigned long inert = XN_FLAG_ONELINE;  // with ASN1_STRFLGS_ESC_CTRL and ASN1_STRFLGS_ESC_MSB
  X509_NAME_print_ex(text.get(), X509_get_subject_name(&certificate), 0, inert);
  char* begin = nullptr;
  const long size = BIO_get_mem_data(text.get(), &begin);
  constexpr long most = 100;
  return {begin, static_cast<std::size_t>(std::min(size, most))};
}

}  // namespace vergeset::snmp
