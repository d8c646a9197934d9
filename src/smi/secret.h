#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <string_view>

namespace vergeset {

/// Overwrites in a way that the compiler may not leave out.
void wipe(void* place, std::size_t size);
/// All of a string, with the octets behind its end that it once held; it is empty then.
void wipe(std::string& text);

/// A secret that is overwritten when it goes. Never printed, never copied. It is always on the heap: a short
/// std::string would leave its octets behind wherever it was moved from.
class Secret {
 public:
  Secret() = default;
  /// Wipes the text that it was made of.
  explicit Secret(std::string&& text);
  static Secret copy_of(std::string_view text);
  Secret(Secret&& other) noexcept;
  Secret& operator=(Secret&& other) noexcept;
  Secret(const Secret&) = delete;
  Secret& operator=(const Secret&) = delete;
  ~Secret();

  std::string_view text() const { return {octets_.get(), size_}; }
  bool empty() const { return size_ == 0; }

 private:
  std::unique_ptr<char[]> octets_;
  std::size_t size_ = 0;
};

}  // namespace vergeset
