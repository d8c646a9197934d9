#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

/// Secrets of one run that are like no others, and how they would look where they must not be: the password
/// itself, the key Ku that is made of it (RFC 3414 A.2) and the key Kul of each unit (RFC 3414 2.6), each as
/// octets, in hex and in base64. Derived here by OpenSSL alone, so that nothing is asked of what is tested.
namespace marks {

struct Secret {
  std::string name;  ///< "auth"
  std::string password;
};

/// A file of lines: "secret NAME PASSWORD", "hash SHA-256", "engine NAME HEX", "octets NAME HEX".
struct Marks {
  std::vector<Secret> secrets;
  std::vector<Secret> octets;  ///< what is looked for as it is: keys, and what tells of keys
  std::vector<std::string> hashes;
  std::vector<std::pair<std::string, std::string>> engines;  ///< name, octets
};

/// Nothing where the file cannot be read, or a line of it not understood.
std::optional<Marks> read_marks(const std::string& path);

std::string password_to_key(const std::string& hash, const std::string& password);
std::string localized(const std::string& hash, const std::string& key, const std::string& engine_id);

std::string hex(std::string_view octets);
std::string base64(std::string_view octets);

/// Looks for all of them at once.
class Search {
 public:
  /// `passwords_only`: not for the keys.
  Search(const Marks& marks, bool passwords_only);

  /// What is found, each once: "the auth password in hex". Never the secret.
  std::set<std::string> in(std::string_view text) const;
  std::size_t size() const { return looks_.size(); }

 private:
  struct Look {
    std::string octets;
    std::string what;
  };
  void add(const std::string& octets, const std::string& what);
  void add_look(std::string octets, std::string what);

  std::vector<Look> looks_;
  std::unordered_multimap<std::uint32_t, std::size_t> by_start_;  ///< by their first four octets
  std::vector<bool> starts_;                                      ///< by their first two
};

}  // namespace marks
