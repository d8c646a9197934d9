#include "smi/secret.h"

#include <cstring>
#include <utility>

namespace vergeset {

void wipe(void* place, std::size_t size) {
  explicit_bzero(place, size);
}

void wipe(std::string& text) {
  text.resize(text.capacity());
  wipe(text.data(), text.size());
  text.clear();
}

Secret::Secret(std::string&& text) {
  *this = copy_of(text);
  wipe(text);
}

Secret Secret::copy_of(std::string_view text) {
  Secret secret;
  secret.octets_ = std::make_unique<char[]>(text.size());
  text.copy(secret.octets_.get(), text.size());
  secret.size_ = text.size();
  return secret;
}

Secret::Secret(Secret&& other) noexcept
    : octets_(std::move(other.octets_)), size_(std::exchange(other.size_, 0)) {}

Secret& Secret::operator=(Secret&& other) noexcept {
  Secret taken(std::move(other));
  std::swap(octets_, taken.octets_);
  std::swap(size_, taken.size_);
  return *this;
}

Secret::~Secret() {
  if (octets_) wipe(octets_.get(), size_);
}

}  // namespace vergeset
