#include "smi/oid.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <stdexcept>

#include "smi/words.h"

namespace vergeset::smi {

Result<Oid> Oid::parse(std::string_view text) {
  constexpr std::size_t most_arcs = 128;  // RFC 2578 3.5
  const auto wrong = [&] {
    return Problem{
        fmt::format("expected an object identifier such as 1.3.6.1, found {}", shown(trimmed(text)))};
  };
  std::string_view rest = trimmed(text);
  if (!rest.empty() && rest.front() == '.') rest.remove_prefix(1);
  std::vector<std::uint32_t> arcs;
  while (true) {
    std::uint32_t arc = 0;
    const auto [stop, error] = std::from_chars(rest.data(), rest.data() + rest.size(), arc);
    if (error == std::errc::result_out_of_range)
      return Problem{fmt::format("an arc of {} is above 4294967295", shown(trimmed(text)))};
    if (error != std::errc{}) return wrong();
    if (arcs.size() == most_arcs)
      return Problem{fmt::format("expected at most {} arcs, found {}", most_arcs, shown(trimmed(text)))};
    arcs.push_back(arc);
    rest.remove_prefix(static_cast<std::size_t>(stop - rest.data()));
    if (rest.empty()) return Oid(std::move(arcs));
    if (rest.front() != '.') return wrong();
    rest.remove_prefix(1);
  }
}

Oid Oid::child(std::uint32_t arc) const {
  std::vector<std::uint32_t> arcs;
  arcs.reserve(arcs_.size() + 1);
  arcs.assign(arcs_.begin(), arcs_.end());
  arcs.push_back(arc);
  return Oid(std::move(arcs));
}

Oid Oid::join(const Oid& tail) const {
  std::vector<std::uint32_t> arcs = arcs_;
  arcs.insert(arcs.end(), tail.arcs_.begin(), tail.arcs_.end());
  return Oid(std::move(arcs));
}

bool Oid::within(const Oid& prefix) const {
  return prefix.size() <= size() && std::equal(prefix.arcs_.begin(), prefix.arcs_.end(), arcs_.begin());
}

Oid Oid::tail(const Oid& prefix) const {
  if (!within(prefix)) throw std::logic_error(fmt::format("{} is not within {}", str(), prefix.str()));
  return Oid(
      std::vector<std::uint32_t>(arcs_.begin() + static_cast<std::ptrdiff_t>(prefix.size()), arcs_.end()));
}

std::string Oid::str() const {
  constexpr std::size_t most_digits = 10;
  std::string text(arcs_.size() * (most_digits + 1), '.');
  char* at = text.data();
  for (std::size_t i = 0; i < arcs_.size(); ++i) {
    if (i > 0) ++at;  // over the dot that stands there
    at = std::to_chars(at, text.data() + text.size(), arcs_[i]).ptr;
  }
  text.resize(static_cast<std::size_t>(at - text.data()));
  return text;
}

}  // namespace vergeset::smi
