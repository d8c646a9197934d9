#include "fleet/texts.h"

#include <cstdint>
#include <cstring>
#include <stdexcept>

namespace vergeset::fleet {

namespace {

using Count = std::uint32_t;

std::string_view take(std::string_view& packed) {
  Count octets = 0;
  std::memcpy(&octets, packed.data(), sizeof octets);
  const std::string_view taken = packed.substr(sizeof octets, octets);
  packed.remove_prefix(sizeof octets + octets);
  return taken;
}

void append(std::string& packed, std::string_view text) {
  const auto octets = static_cast<Count>(text.size());
  packed.append(reinterpret_cast<const char*>(&octets), sizeof octets);
  packed += text;
}

}  // namespace

void Texts::const_iterator::read() {
  if (packed_.empty()) return;
  std::string_view rest = packed_;
  const std::string_view name = take(rest);
  current_ = {name, take(rest)};
}

Texts::const_iterator& Texts::const_iterator::operator++() {
  packed_.remove_prefix(2 * sizeof(Count) + current_.first.size() + current_.second.size());
  read();
  return *this;
}

Texts::const_iterator Texts::find(std::string_view name) const {
  auto at = begin();
  while (at != end() && at->first != name) ++at;
  return at;
}

std::string_view Texts::at(std::string_view name) const {
  const auto found = find(name);
  if (found == end()) throw std::out_of_range("no text under " + std::string(name));
  return found->second;
}

void Texts::set(std::string_view name, std::string_view text) {
  std::string one;
  append(one, name);
  append(one, text);
  auto at = begin();
  while (at != end() && at->first < name) ++at;
  const std::size_t from = packed_.size() - at.packed_.size();
  std::size_t replaced = 0;
  if (at != end() && at->first == name) {
    const std::size_t behind = at.packed_.size();
    replaced = behind - (++at).packed_.size();
  }
  packed_.replace(from, replaced, one);
}

}  // namespace vergeset::fleet
