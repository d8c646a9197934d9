#include "key_changes.h"

#include <openssl/evp.h>

#include <map>
#include <memory>
#include <optional>

namespace marks {

namespace {

constexpr unsigned char sequence = 0x30;
constexpr unsigned char octet_string = 0x04;
constexpr unsigned char integer = 0x02;

/// Reads the elements of BER one behind the other (X.690 8.1).
class Elements {
 public:
  explicit Elements(std::string_view octets) : octets_(octets) {}

  /// The contents of the next one, if it has this tag.
  std::optional<std::string_view> next(unsigned char tag) {
    if (octets_.size() < 2 || static_cast<unsigned char>(octets_[0]) != tag) return std::nullopt;
    std::size_t length = static_cast<unsigned char>(octets_[1]);
    std::size_t head = 2;
    if (length >= 0x80) {
      const std::size_t more = length - 0x80;
      if (more > 3 || octets_.size() < head + more) return std::nullopt;
      length = 0;
      for (std::size_t at = 0; at < more; ++at)
        length = length << 8U | static_cast<unsigned char>(octets_[head + at]);
      head += more;
    }
    if (octets_.size() < head + length) return std::nullopt;
    const std::string_view contents = octets_.substr(head, length);
    octets_.remove_prefix(head + length);
    return contents;
  }

 private:
  std::string_view octets_;
};

/// What of a message says how it is enciphered, and that.
struct Enciphered {
  std::string engine;
  std::string start;  ///< the initialization vector (RFC 3826 3.1.2.1)
  std::string_view octets;
};

/// As four octets, the most significant first.
std::string four_octets(std::string_view number) {
  std::string four(4, '\0');
  for (const char octet : number) four = four.substr(1) + octet;
  return four;
}

/// RFC 3412 6, RFC 3414 2.4.
std::optional<Enciphered> enciphered(std::string_view message) {
  const auto whole = Elements(message).next(sequence);
  if (!whole) return std::nullopt;
  Elements outer(*whole);
  if (!outer.next(integer) || !outer.next(sequence)) return std::nullopt;
  const auto security = outer.next(octet_string);
  const auto scoped = outer.next(octet_string);
  if (!security || !scoped) return std::nullopt;
  const auto parameters = Elements(*security).next(sequence);
  if (!parameters) return std::nullopt;
  Elements inner(*parameters);
  const auto engine = inner.next(octet_string);
  const auto boots = inner.next(integer);
  const auto time = inner.next(integer);
  const auto user = inner.next(octet_string);
  const auto digest = inner.next(octet_string);
  const auto salt = inner.next(octet_string);
  if (!engine || !boots || !time || !user || !digest || !salt || salt->size() != 8) return std::nullopt;
  return Enciphered{std::string(*engine), four_octets(*boots) + four_octets(*time) + std::string(*salt),
                    *scoped};
}

std::string deciphered(const Enciphered& what, const std::string& key) {
  const std::unique_ptr<EVP_CIPHER_CTX, void (*)(EVP_CIPHER_CTX*)> state(EVP_CIPHER_CTX_new(),
                                                                         EVP_CIPHER_CTX_free);
  std::string out(what.octets.size() + 16, '\0');
  int size = 0;
  EVP_DecryptInit_ex(state.get(), EVP_aes_128_cfb128(), nullptr,
                     reinterpret_cast<const unsigned char*>(key.data()),
                     reinterpret_cast<const unsigned char*>(what.start.data()));
  EVP_DecryptUpdate(state.get(), reinterpret_cast<unsigned char*>(out.data()), &size,
                    reinterpret_cast<const unsigned char*>(what.octets.data()),
                    static_cast<int>(what.octets.size()));
  out.resize(static_cast<std::size_t>(size));
  return out;
}

/// All that could be this engine's key for privacy. A password's key takes a megabyte of hashing: each once.
std::vector<std::string> keys_for(const std::string& engine, const Marks& marks) {
  static std::map<std::string, std::string> long_keys;
  std::vector<std::string> keys;
  for (const Secret& secret : marks.secrets) {
    for (const std::string& hash : marks.hashes) {
      std::string& key = long_keys[hash + " " + secret.password];
      if (key.empty()) key = password_to_key(hash, secret.password);
      keys.push_back(localized(hash, key, engine).substr(0, 16));
    }
  }
  for (const Secret& one : marks.octets) keys.push_back(one.password.substr(0, 16));
  return keys;
}

/// Variable bindings are not read in order: these names are in no other place.
void take_changes(std::string_view pdu, std::vector<std::string>& changes) {
  static const std::string of_users{"\x2b\x06\x01\x06\x03\x0f\x01\x02\x02\x01", 10};  // usmUserEntry
  for (std::size_t at = pdu.find(of_users); at != std::string_view::npos && at >= 2;
       at = pdu.find(of_users, at + 1)) {
    Elements pair(pdu.substr(at - 2));
    const auto name = pair.next(0x06);
    const auto value = pair.next(octet_string);
    if (!name || !value || name->size() <= of_users.size()) continue;
    const int column = (*name)[of_users.size()];
    if (column == 6 || column == 7 || column == 9 || column == 10) changes.emplace_back(*value);
  }
}

}  // namespace

std::vector<std::string> key_changes_in(std::string_view message, const Marks& marks) {
  std::vector<std::string> changes;
  const auto what = enciphered(message);
  if (!what || what->engine.empty()) return changes;
  for (const std::string& key : keys_for(what->engine, marks)) {
    const std::string plain = deciphered(*what, key);
    const auto scoped = Elements(plain).next(sequence);
    if (!scoped || Elements(*scoped).next(octet_string) != std::string_view(what->engine)) continue;
    take_changes(*scoped, changes);
    break;
  }
  return changes;
}

}  // namespace marks
