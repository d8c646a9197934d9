#include "smi/oid.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <stdexcept>
#include <vector>

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
    if (rest.empty()) return Oid(arcs);
    if (rest.front() != '.') return wrong();
    rest.remove_prefix(1);
  }
}

void Oid::copy_many(const Oid& other) {
  std::copy_n(other.many_.get(), size_, make_room(size_));
}

Oid Oid::child(std::uint32_t arc) const {
  Oid out;
  std::uint32_t* const room = out.make_room(size_ + std::size_t{1});
  std::copy_n(data(), size_, room);
  room[size_] = arc;
  return out;
}

Oid Oid::join(const Oid& tail) const {
  Oid out;
  std::uint32_t* const room = out.make_room(std::size_t{size_} + tail.size_);
  std::copy_n(tail.data(), tail.size_, std::copy_n(data(), size_, room));
  return out;
}

bool Oid::within(const Oid& prefix) const {
  return prefix.size_ <= size_ &&
         std::memcmp(prefix.data(), data(), prefix.size_ * sizeof(std::uint32_t)) == 0;
}

Oid Oid::tail(const Oid& prefix) const {
  if (!within(prefix)) throw std::logic_error(fmt::format("{} is not within {}", str(), prefix.str()));
  return {data() + prefix.size_, std::size_t{size_} - prefix.size_};
}

std::string Oid::str() const {
  constexpr std::size_t most_digits = 10;
  std::string text(size_ * (most_digits + 1), '.');
  char* at = text.data();
  for (std::size_t i = 0; i < size_; ++i) {
    if (i > 0) ++at;  // over the dot that stands there
    at = std::to_chars(at, text.data() + text.size(), data()[i]).ptr;
  }
  text.resize(static_cast<std::size_t>(at - text.data()));
  return text;
}

}  // namespace vergeset::smi
