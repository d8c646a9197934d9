#include "snmp/mib_obsolete.h"

#include <algorithm>
#include <cctype>

namespace vergeset::snmp {

namespace {

constexpr std::string_view white = " \t\r\n\v\f";

/// The words of SMI: names, numbers and marks, without comments and without what stands in quotes.
class SmiWords {
 public:
  explicit SmiWords(std::string_view text) : rest_(text) {}

  /// Empty at the end.
  std::string_view next() {
    do {
      rest_.remove_prefix(std::min(rest_.find_first_not_of(white), rest_.size()));
    } while (skip_comment());
    if (rest_.empty()) return {};
    if (rest_.front() == '"') return take(quoted_size());
    if (rest_.starts_with("::=")) return take(3);
    const auto* const end = std::find_if_not(rest_.begin(), rest_.end(), [](char c) {
      return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '-' || c == '_';
    });
    return take(std::max<std::size_t>(1, static_cast<std::size_t>(end - rest_.begin())));
  }

 private:
  std::string_view take(std::size_t size) {
    const std::string_view word = rest_.substr(0, size);
    rest_.remove_prefix(word.size());
    return word;
  }

  std::size_t quoted_size() const {
    const std::size_t end = rest_.find('"', 1);
    return end == rest_.npos ? rest_.size() : end + 1;
  }

  /// From two hyphens to the next two, or to the end of the line (RFC 2578 refers to ASN.1, X.208 8.6).
  bool skip_comment() {
    if (!rest_.starts_with("--")) return false;
    // Nothing is looked for beyond the next two hyphens, so that each octet is seen twice at most.
    const std::size_t close = std::min(rest_.find("--", 2), rest_.size());
    const std::size_t line = rest_.substr(0, close).find_first_of("\r\n");
    rest_.remove_prefix(line != rest_.npos ? line : std::min(close + 2, rest_.size()));
    return true;
  }

  std::string_view rest_;
};

}  // namespace

std::set<MibName> obsolete_notifications(std::string_view text) {
  std::set<MibName> found;
  SmiWords words(text);
  std::string module;
  std::string notification;  // whose clauses are being read
  std::string_view before;
  for (std::string_view word = words.next(); !word.empty(); word = words.next()) {
    if (word == "DEFINITIONS") module = before;
    if (word == "NOTIFICATION-TYPE") notification = before;
    if (word == "::=") notification.clear();
    if (word == "obsolete" && before == "STATUS" && !notification.empty())
      found.insert({module, notification});
    before = word;
  }
  return found;
}

}  // namespace vergeset::snmp
