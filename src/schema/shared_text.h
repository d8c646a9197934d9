#pragma once

#include <fmt/format.h>

#include <atomic>
#include <compare>
#include <concepts>
#include <cstdint>
#include <ostream>
#include <string>
#include <string_view>
#include <utility>

namespace vergeset {

/// A text that never changes and that its copies share, one pointer large. A fleet of ten thousand units has
/// a hundred thousand places in a dozen files: each place names its file by one of these.
class SharedText {
 public:
  SharedText() = default;
  SharedText(std::string text) : held_(text.empty() ? nullptr : new Held(std::move(text))) {}
  SharedText(const char* text) : SharedText(std::string(text)) {}

  SharedText(const SharedText& other) noexcept : held_(other.held_) {
    if (held_ != nullptr) held_->users.fetch_add(1, std::memory_order_relaxed);
  }
  SharedText(SharedText&& other) noexcept : held_(std::exchange(other.held_, nullptr)) {}
  SharedText& operator=(SharedText other) noexcept {
    std::swap(held_, other.held_);
    return *this;
  }
  ~SharedText() {
    const bool last = held_ != nullptr && held_->users.fetch_sub(1, std::memory_order_acq_rel) == 1;
    if (last) delete held_;  // NOLINT: clang-analyzer does not follow the count of users
  }

  const std::string& str() const {
    static const std::string none;
    return held_ == nullptr ? none : held_->text;
  }
  operator const std::string&() const { return str(); }
  bool empty() const { return held_ == nullptr; }
  std::size_t size() const { return str().size(); }

  friend bool operator==(const SharedText& a, const SharedText& b) {
    return a.held_ == b.held_ || a.str() == b.str();
  }
  friend std::strong_ordering operator<=>(const SharedText& a, const SharedText& b) {
    return a.held_ == b.held_ ? std::strong_ordering::equal : a.str() <=> b.str();
  }
  template <std::convertible_to<std::string_view> Other>
  friend bool operator==(const SharedText& a, const Other& b) {
    return a.str() == std::string_view(b);
  }
  friend std::string operator+(std::string a, const SharedText& b) { return std::move(a) + b.str(); }
  friend std::string operator+(const SharedText& a, const std::string& b) { return a.str() + b; }
  friend std::ostream& operator<<(std::ostream& out, const SharedText& text) { return out << text.str(); }

 private:
  struct Held {
    explicit Held(std::string whole) : text(std::move(whole)) {}
    const std::string text;
    std::atomic<std::uint32_t> users = 1;
  };
  Held* held_ = nullptr;  ///< nothing for an empty text
};

}  // namespace vergeset

template <>
struct fmt::formatter<vergeset::SharedText> : fmt::formatter<std::string_view> {
  auto format(const vergeset::SharedText& text, fmt::format_context& context) const {
    return fmt::formatter<std::string_view>::format(text.str(), context);
  }
};
