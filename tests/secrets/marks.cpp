#include "marks.h"

#include <openssl/evp.h>

#include <array>
#include <cstring>
#include <fstream>
#include <map>
#include <memory>
#include <sstream>

namespace marks {

namespace {

/// Of a key so much is looked for: as much as AES-128 takes of one (RFC 3826 3.1.2), and enough that nothing
/// is taken for it by chance.
constexpr std::size_t least_of_key = 16;

const EVP_MD* digest_named(const std::string& hash) {
  static const std::map<std::string, const char*> names{{"MD5", "MD5"},        {"SHA-1", "SHA1"},
                                                        {"SHA-224", "SHA224"}, {"SHA-256", "SHA256"},
                                                        {"SHA-384", "SHA384"}, {"SHA-512", "SHA512"}};
  const auto found = names.find(hash);
  return found == names.end() ? nullptr : EVP_get_digestbyname(found->second);
}

std::string digest(const std::string& hash, const std::vector<std::string_view>& parts) {
  const std::unique_ptr<EVP_MD_CTX, void (*)(EVP_MD_CTX*)> state(EVP_MD_CTX_new(), EVP_MD_CTX_free);
  EVP_DigestInit_ex(state.get(), digest_named(hash), nullptr);
  for (const std::string_view part : parts) EVP_DigestUpdate(state.get(), part.data(), part.size());
  std::array<unsigned char, EVP_MAX_MD_SIZE> made{};
  unsigned size = 0;
  EVP_DigestFinal_ex(state.get(), made.data(), &size);
  return {reinterpret_cast<const char*>(made.data()), size};
}

std::optional<std::string> octets_of_hex(const std::string& text) {
  if (text.empty() || text.size() % 2 != 0 ||
      text.find_first_not_of("0123456789abcdefABCDEF") != std::string::npos)
    return std::nullopt;
  std::string octets;
  for (std::size_t at = 0; at < text.size(); at += 2)
    octets += static_cast<char>(std::stoi(text.substr(at, 2), nullptr, 16));
  return octets;
}

std::uint32_t first_four(const char* at) {
  std::uint32_t four = 0;
  std::memcpy(&four, at, sizeof four);
  return four;
}

std::uint16_t first_two(const char* at) {
  std::uint16_t two = 0;
  std::memcpy(&two, at, sizeof two);
  return two;
}

bool take_line(Marks& marks, const std::string& line) {
  std::istringstream words(line);
  std::string kind;
  std::string name;
  words >> kind >> name;
  std::string rest;
  std::getline(words >> std::ws, rest);
  if (kind == "secret" && rest.size() >= 8) {
    marks.secrets.push_back({name, rest});
  } else if (kind == "hash" && digest_named(name) != nullptr) {
    marks.hashes.push_back(name);
  } else if (kind == "engine" || kind == "octets") {
    const auto octets = octets_of_hex(rest);
    if (!octets || (kind == "octets" && octets->size() < least_of_key)) return false;
    if (kind == "engine")
      marks.engines.emplace_back(name, *octets);
    else
      marks.octets.push_back({name, *octets});
  } else {
    return false;
  }
  return true;
}

}  // namespace

std::optional<Marks> read_marks(const std::string& path) {
  std::ifstream file(path);
  Marks marks;
  std::string line;
  while (std::getline(file, line))
    if (!take_line(marks, line)) return std::nullopt;
  if (marks.secrets.empty() || marks.hashes.empty()) return std::nullopt;
  return marks;
}

std::string password_to_key(const std::string& hash, const std::string& password) {
  constexpr std::size_t megabyte = 1048576;  // RFC 3414 A.2
  std::string long_text;
  while (long_text.size() < megabyte) long_text += password;
  long_text.resize(megabyte);
  return digest(hash, {long_text});
}

std::string localized(const std::string& hash, const std::string& key, const std::string& engine_id) {
  return digest(hash, {key, engine_id, key});  // RFC 3414 2.6
}

std::string hex(std::string_view octets) {
  constexpr const char* digits = "0123456789abcdef";
  std::string text;
  for (const char octet : octets) {
    const auto number = static_cast<unsigned char>(octet);
    text += digits[number / 16];
    text += digits[number % 16];
  }
  return text;
}

std::string base64(std::string_view octets) {
  constexpr const char* digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  std::uint32_t bits = 0;
  int count = 0;
  for (const char octet : octets) {
    bits = bits << 8U | static_cast<unsigned char>(octet);
    for (count += 8; count >= 6; count -= 6) text += digits[bits >> static_cast<unsigned>(count - 6) & 63U];
  }
  return text;  // without the last digit where it is not a whole one
}

void Search::add_look(std::string octets, std::string what) {
  by_start_.emplace(first_four(octets.data()), looks_.size());
  starts_[first_two(octets.data())] = true;
  looks_.push_back({std::move(octets), std::move(what)});
}

void Search::add(const std::string& octets, const std::string& what) {
  add_look(octets, what);
  const std::string low = hex(octets);
  std::string high = low;
  for (char& digit : high) digit = static_cast<char>(std::toupper(static_cast<unsigned char>(digit)));
  for (const std::string& digits : {low, high})
    for (const char* between : {"", " ", ":"}) {
      std::string text;
      for (std::size_t at = 0; at < digits.size(); at += 2) {
        if (at > 0) text += between;
        text += digits.substr(at, 2);
      }
      add_look(text, what + " in hex");
    }
  // In a longer text it begins at any of three places among the digits; the first that are not its alone
  // are left out.
  for (const std::size_t before : {0, 1, 2}) {
    const std::size_t skip = before == 0 ? 0 : before + 1;
    add_look(base64(std::string(before, 'x') + octets).substr(skip), what + " in base64");
  }
}

Search::Search(const Marks& marks, bool passwords_only) : starts_(65536) {
  for (const Secret& secret : marks.secrets) {
    add(secret.password, "the " + secret.name + " password");
    if (passwords_only) continue;
    for (const std::string& hash : marks.hashes) {
      const std::string key = password_to_key(hash, secret.password);
      add(key.substr(0, least_of_key), "the " + secret.name + " key Ku");
      for (const auto& [name, engine] : marks.engines)
        add(localized(hash, key, engine).substr(0, least_of_key), "the " + secret.name + " key of " + name);
    }
  }
  for (const Secret& one : marks.octets)
    if (!passwords_only) add(one.password.substr(0, least_of_key), "the " + one.name);
}

std::set<std::string> Search::in(std::string_view text) const {
  std::set<std::string> found;
  for (std::size_t at = 0; at + 4 <= text.size(); ++at) {
    if (!starts_[first_two(text.data() + at)]) continue;
    const auto [from, to] = by_start_.equal_range(first_four(text.data() + at));
    for (auto look = from; look != to; ++look)
      if (text.compare(at, looks_[look->second].octets.size(), looks_[look->second].octets) == 0)
        found.insert(looks_[look->second].what);
  }
  return found;
}

}  // namespace marks
