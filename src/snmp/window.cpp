#include "snmp/window.h"

#include <algorithm>
#include <utility>

namespace vergeset::snmp {

Task<void> Window::enter() {
  while (inside_ >= size_) {
    const auto slot = EventLoop::make_slot();
    waiting_.push_back(slot);
    co_await loop_.wait(slot, EventLoop::Moment::max());
  }
  ++inside_;
}

void Window::leave() {
  --inside_;
  let_in();
}

/// One of those that wait; a slot whose coroutine is gone is no longer timed.
void Window::let_in() {
  while (inside_ < size_ && !waiting_.empty()) {
    const auto slot = std::move(waiting_.front());
    waiting_.pop_front();
    if (!slot->timed) continue;
    loop_.wake(slot);
    return;
  }
}

void Window::narrow() {
  size_ = std::max<std::size_t>(size_ / 2, 1);
}

void Window::widen() {
  if (size_ == most) return;
  ++size_;
  let_in();
}

}  // namespace vergeset::snmp
