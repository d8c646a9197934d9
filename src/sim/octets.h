#pragma once

#include <cstring>
#include <stdexcept>
#include <string>
#include <string_view>
#include <type_traits>

namespace vergeset::sim {

/// Plain values one behind the other, between processes of one program: no order of octets, no version.
class OctetWriter {
 public:
  template <class Number>
  void put(Number number) {
    static_assert(std::is_trivially_copyable_v<Number>);
    octets.append(reinterpret_cast<const char*>(&number), sizeof number);
  }
  void put_text(std::string_view text) {
    put(text.size());
    octets.append(text);
  }

  std::string octets;
};

/// Throws where there is less than is asked for.
class OctetReader {
 public:
  explicit OctetReader(std::string_view octets) : rest_(octets) {}

  template <class Number>
  Number take() {
    static_assert(std::is_trivially_copyable_v<Number>);
    Number number;
    std::memcpy(&number, take(sizeof number).data(), sizeof number);
    return number;
  }
  std::string take_text() { return std::string(take(take<std::size_t>())); }

 private:
  std::string_view take(std::size_t size) {
    if (size > rest_.size()) throw std::logic_error("a record between processes is cut short");
    const std::string_view taken = rest_.substr(0, size);
    rest_.remove_prefix(size);
    return taken;
  }

  std::string_view rest_;
};

}  // namespace vergeset::sim
