#pragma once

#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>

#include <array>
#include <functional>
#include <stdexcept>
#include <string>

namespace vergeset::tests {

/// A certificate and its key, made on the spot; PEM.
struct MadeCertificate {
  std::string certificate;
  std::string key;
  std::string fingerprint;  ///< "sha256:" and hex without separators
};

/// What a certificate is to say, and who signs it.
struct CertificateWish {
  std::string name;
  const MadeCertificate* signer = nullptr;  ///< nothing: itself
  bool authority = false;                   ///< may sign others
  int from_days = -1;                       ///< from now
  int until_days = 30;
  std::string alternative{};  ///< subjectAltName as in x509v3_config(5): "IP:127.0.7.9"
};

namespace detail {

inline std::string pem_of(const std::function<int(BIO*)>& write) {
  BIO* const octets = BIO_new(BIO_s_mem());
  if (write(octets) != 1) throw std::runtime_error("cannot write PEM");
  char* begin = nullptr;
  const long size = BIO_get_mem_data(octets, &begin);
  std::string text(begin, static_cast<std::size_t>(size));
  BIO_free(octets);
  return text;
}

inline X509* certificate_of(const std::string& pem) {
  BIO* const octets = BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size()));
  X509* const certificate = PEM_read_bio_X509(octets, nullptr, nullptr, nullptr);
  BIO_free(octets);
  return certificate;
}

inline EVP_PKEY* key_of(const std::string& pem) {
  BIO* const octets = BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size()));
  EVP_PKEY* const key = PEM_read_bio_PrivateKey(octets, nullptr, nullptr, nullptr);
  BIO_free(octets);
  return key;
}

inline void extend(X509* certificate, X509* signer, int what, const std::string& value) {
  X509V3_CTX context;
  X509V3_set_ctx(&context, signer, certificate, nullptr, nullptr, 0);
  X509_EXTENSION* const extension = X509V3_EXT_conf_nid(nullptr, &context, what, value.c_str());
  if (extension == nullptr) throw std::runtime_error("cannot extend a certificate by " + value);
  X509_add_ext(certificate, extension, -1);
  X509_EXTENSION_free(extension);
}

}  // namespace detail

inline std::string fingerprint_of(const X509* certificate) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned size = 0;
  X509_digest(certificate, EVP_sha256(), digest.data(), &size);
  std::string text = "sha256:";
  for (unsigned i = 0; i < size; ++i) {
    text += "0123456789abcdef"[digest[i] >> 4U];
    text += "0123456789abcdef"[digest[i] & 15U];
  }
  return text;
}

inline MadeCertificate make_certificate(const CertificateWish& wish) {
  static long serial = 1;
  EVP_PKEY* const key = EVP_RSA_gen(2048);
  X509* const certificate = X509_new();
  X509_set_version(certificate, 2);
  ASN1_INTEGER_set(X509_get_serialNumber(certificate), ++serial);
  X509_gmtime_adj(X509_getm_notBefore(certificate), wish.from_days * 86400L);
  X509_gmtime_adj(X509_getm_notAfter(certificate), wish.until_days * 86400L);
  X509_NAME_add_entry_by_txt(X509_get_subject_name(certificate), "CN", MBSTRING_UTF8,
                             reinterpret_cast<const unsigned char*>(wish.name.c_str()), -1, -1, 0);
  X509_set_pubkey(certificate, key);
  X509* const signer =
      wish.signer == nullptr ? certificate : detail::certificate_of(wish.signer->certificate);
  EVP_PKEY* const signing = wish.signer == nullptr ? key : detail::key_of(wish.signer->key);
  X509_set_issuer_name(certificate, X509_get_subject_name(signer));
  detail::extend(certificate, signer, NID_basic_constraints,
                 wish.authority ? "critical,CA:TRUE" : "CA:FALSE");
  if (!wish.alternative.empty()) {
    detail::extend(certificate, signer, NID_subject_alt_name, wish.alternative);
  }
  if (X509_sign(certificate, signing, EVP_sha256()) == 0) throw std::runtime_error("cannot sign");
  MadeCertificate made;
  made.certificate = detail::pem_of([&](BIO* octets) { return PEM_write_bio_X509(octets, certificate); });
  made.key = detail::pem_of([&](BIO* octets) {
    return PEM_write_bio_PKCS8PrivateKey(octets, key, nullptr, nullptr, 0, nullptr, nullptr);
  });
  made.fingerprint = fingerprint_of(certificate);
  if (wish.signer != nullptr) {
    X509_free(signer);
    EVP_PKEY_free(signing);
  }
  X509_free(certificate);
  EVP_PKEY_free(key);
  return made;
}

/// Whoever speaks by this context shows it.
inline void show(SSL_CTX* context, const MadeCertificate& shown) {
  X509* const certificate = detail::certificate_of(shown.certificate);
  EVP_PKEY* const key = detail::key_of(shown.key);
  SSL_CTX_use_certificate(context, certificate);
  SSL_CTX_use_PrivateKey(context, key);
  X509_free(certificate);
  EVP_PKEY_free(key);
}

/// What this one has signed is trusted.
inline void trust(SSL_CTX* context, const MadeCertificate& root) {
  X509* const trusted = detail::certificate_of(root.certificate);
  X509_STORE_add_cert(SSL_CTX_get_cert_store(context), trusted);
  X509_free(trusted);
}

}  // namespace vergeset::tests
