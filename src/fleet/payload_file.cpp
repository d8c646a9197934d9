#include "fleet/payload_file.h"

#include <fmt/format.h>

#include <filesystem>

#include "schema/text_file.h"

namespace vergeset::fleet {

namespace {

int digit_of(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

std::string shown(char c) {
  const auto octet = static_cast<unsigned char>(c);
  return octet > 0x20 && octet < 0x7f ? std::string(1, c) : fmt::format("octet {:02x}", octet);
}

bool free_to_stand(char c) {
  return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

/// A path that leaves the fleet's folder would make a fleet that does not travel whole.
bool leaves_folder(const std::string& path) {
  const std::filesystem::path given(path);
  if (given.is_absolute()) return true;
  const std::filesystem::path plain = given.lexically_normal();
  return plain.begin() != plain.end() && *plain.begin() == "..";
}

}  // namespace

std::optional<std::string> parse_payload(std::string_view text, const std::string& file, Faults& faults) {
  std::string octets;
  Place place{file, 1, 0};
  Place high_place;
  int high = -1;
  bool comment = false;
  for (const char c : text) {
    ++place.column;
    if (c == '\n') {
      ++place.line;
      place.column = 0;
      comment = false;
      continue;
    }
    comment = comment || c == '#';
    if (comment || free_to_stand(c)) continue;
    const int digit = digit_of(c);
    if (digit < 0) {
      faults.add(place, "expected hex digits, found " + shown(c) + "; write comments behind #");
      return std::nullopt;
    }
    if (high < 0) {
      high = digit;
      high_place = place;
      if (octets.size() == most_payload) {
        faults.add(place,
                   fmt::format("a payload has at most {} octets, and here begins one more", most_payload));
        return std::nullopt;
      }
      continue;
    }
    octets += static_cast<char>(high * 16 + digit);
    high = -1;
  }
  if (high >= 0) {
    faults.add(high_place, "an odd number of hex digits; this last one has no partner");
    return std::nullopt;
  }
  if (octets.empty()) {
    faults.add({file, 0, 0}, "holds no hex digits; a payload is expected");
    return std::nullopt;
  }
  return octets;
}

const Payloads::Loaded& Payloads::read(const std::string& path) {
  const auto found = loaded_.find(path);
  if (found != loaded_.end()) return found->second;
  Loaded& loaded = loaded_[path];
  if (leaves_folder(path)) {
    loaded.problem = "expected a file within the fleet's folder, found " + path;
    return loaded;
  }
  auto text = read_text_file(folder_ + "/" + path);
  if (!text) {
    loaded.problem = path + " " + text.problem();
    return loaded;
  }
  files_.insert(path);
  loaded.octets = parse_payload(*text, path, faults_);
  return loaded;
}

}  // namespace vergeset::fleet
