#pragma once

#include <array>
#include <compare>
#include <cstdint>
#include <cstring>
#include <initializer_list>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <utility>

#include "smi/result.h"

namespace vergeset::smi {

/// An object identifier (RFC 2578 3.5): at most 128 arcs of 32 bits. Ordered as SNMP walks.
class Oid {
 public:
  Oid() = default;
  Oid(std::initializer_list<std::uint32_t> arcs) : Oid(arcs.begin(), arcs.size()) {}
  explicit Oid(std::span<const std::uint32_t> arcs) : Oid(arcs.data(), arcs.size()) {}
  /// Of arcs in another unsigned type; their upper halves, if any, are dropped.
  template <class Arc>
  Oid(const Arc* arcs, std::size_t size) {
    std::uint32_t* const here = make_room(size);
    for (std::size_t i = 0; i < size; ++i) here[i] = static_cast<std::uint32_t>(arcs[i]);
  }
  Oid(const Oid& other) : size_(other.size_), few_(other.few_) {
    if (other.many_) copy_many(other);
  }
  Oid(Oid&& other) noexcept
      : size_(std::exchange(other.size_, 0)), few_(other.few_), many_(std::move(other.many_)) {}
  Oid& operator=(const Oid& other) {
    if (this != &other) *this = Oid(other);
    return *this;
  }
  Oid& operator=(Oid&& other) noexcept {
    size_ = std::exchange(other.size_, 0);
    few_ = other.few_;
    many_ = std::move(other.many_);
    return *this;
  }
  ~Oid() = default;

  /// "1.3.6.1" or ".1.3.6.1"; names are not looked up.
  static Result<Oid> parse(std::string_view text);

  std::span<const std::uint32_t> arcs() const { return {data(), size_}; }
  bool empty() const { return size_ == 0; }
  std::size_t size() const { return size_; }
  std::uint32_t back() const { return data()[size_ - 1]; }

  /// This object identifier with one arc, or all arcs of another, behind it.
  Oid child(std::uint32_t arc) const;
  Oid join(const Oid& tail) const;
  /// This without its last arc.
  Oid parent() const { return {data(), size_ - 1}; }

  /// True where `prefix` is this or stands above it in the tree.
  bool within(const Oid& prefix) const;
  /// The arcs behind `prefix`, which must stand above this.
  Oid tail(const Oid& prefix) const;

  /// "1.3.6.1", without a leading dot.
  std::string str() const;

  bool operator==(const Oid& other) const {
    return size_ == other.size_ && std::memcmp(data(), other.data(), size_ * sizeof(std::uint32_t)) == 0;
  }
  // Instances share most of their arcs, and are compared more often than anything else.
  std::strong_ordering operator<=>(const Oid& other) const {
    const std::size_t common = size() < other.size() ? size() : other.size();
    const std::uint32_t* const here = data();
    const std::uint32_t* const there = other.data();
    std::size_t i = 0;
    while (i + 1 < common && std::memcmp(here + i, there + i, 2 * sizeof *here) == 0) i += 2;
    while (i < common && here[i] == there[i]) ++i;
    return i < common ? here[i] <=> there[i] : size() <=> other.size();
  }

 private:
  /// Instances of both standards have at most 15 arcs: they are held here, without a place on the heap.
  static constexpr std::size_t most_here = 15;

  const std::uint32_t* data() const { return many_ ? many_.get() : few_.data(); }
  std::uint32_t* make_room(std::size_t size) {
    size_ = static_cast<std::uint32_t>(size);
    if (size > most_here) many_ = std::make_unique<std::uint32_t[]>(size);
    return many_ ? many_.get() : few_.data();
  }
  void copy_many(const Oid& other);

  std::uint32_t size_ = 0;
  std::array<std::uint32_t, most_here> few_{};
  std::unique_ptr<std::uint32_t[]> many_;  ///< instead, where there are more
};

}  // namespace vergeset::smi
