#pragma once

#include <compare>
#include <cstdint>
#include <cstring>
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

#include "smi/result.h"

namespace vergeset::smi {

/// An object identifier (RFC 2578 3.5): at most 128 arcs of 32 bits. Ordered as SNMP walks.
class Oid {
 public:
  Oid() = default;
  Oid(std::initializer_list<std::uint32_t> arcs) : arcs_(arcs) {}
  explicit Oid(std::vector<std::uint32_t> arcs) : arcs_(std::move(arcs)) {}

  /// "1.3.6.1" or ".1.3.6.1"; names are not looked up.
  static Result<Oid> parse(std::string_view text);

  const std::vector<std::uint32_t>& arcs() const { return arcs_; }
  bool empty() const { return arcs_.empty(); }
  std::size_t size() const { return arcs_.size(); }
  std::uint32_t back() const { return arcs_.back(); }

  /// This object identifier with one arc, or all arcs of another, behind it.
  Oid child(std::uint32_t arc) const;
  Oid join(const Oid& tail) const;

  /// True where `prefix` is this or stands above it in the tree.
  bool within(const Oid& prefix) const;
  /// The arcs behind `prefix`, which must stand above this.
  Oid tail(const Oid& prefix) const;

  /// "1.3.6.1", without a leading dot.
  std::string str() const;

  bool operator==(const Oid&) const = default;
  // Instances share most of their arcs, and are compared more often than anything else.
  std::strong_ordering operator<=>(const Oid& other) const {
    const std::size_t common = size() < other.size() ? size() : other.size();
    const std::uint32_t* const here = arcs_.data();
    const std::uint32_t* const there = other.arcs_.data();
    std::size_t i = 0;
    while (i + 1 < common && std::memcmp(here + i, there + i, 2 * sizeof *here) == 0) i += 2;
    while (i < common && here[i] == there[i]) ++i;
    return i < common ? here[i] <=> there[i] : size() <=> other.size();
  }

 private:
  std::vector<std::uint32_t> arcs_;
};

}  // namespace vergeset::smi
