#pragma once

#include <cstddef>
#include <deque>

#include "snmp/event_loop.h"

namespace vergeset::snmp {

/// How many requests of one link travel side by side; the others wait here, in their order.
///
/// Four, which a link of 64 kbit/s delivers in 0.7 s when each is answered by 1,400 octets: well within
/// the first timeout. Half after a try that was not answered in time, one more again for each that was.
class Window {
 public:
  explicit Window(EventLoop& loop) : loop_(loop) {}

  /// A request's place; the next in line has it when it goes.
  class Place {
   public:
    explicit Place(Window& window) : window_(window) {}
    ~Place() { window_.leave(); }
    Place(const Place&) = delete;
    Place& operator=(const Place&) = delete;

   private:
    Window& window_;
  };
  /// Done when there is room; make the Place then, before anything else is awaited.
  Task<void> enter();

  void narrow();
  void widen();
  std::size_t size() const { return size_; }

 private:
  void leave();
  void let_in();

  static constexpr std::size_t most = 4;

  EventLoop& loop_;
  std::size_t size_ = most;
  std::size_t inside_ = 0;
  std::deque<EventLoop::SlotPtr> waiting_;
};

}  // namespace vergeset::snmp
