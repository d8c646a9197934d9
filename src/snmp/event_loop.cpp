#include "snmp/event_loop.h"

#include <sys/epoll.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <stdexcept>
#include <system_error>
#include <utility>

namespace vergeset::snmp {

namespace {

int checked(int result, const char* what) {
  if (result < 0) throw std::system_error(errno, std::generic_category(), what);
  return result;
}

/// Milliseconds until then, rounded up so that the loop does not spin through the last one.
int milliseconds_until(EventLoop::Moment moment) {
  const auto left = std::chrono::ceil<std::chrono::milliseconds>(moment - std::chrono::steady_clock::now());
  return static_cast<int>(std::clamp<std::int64_t>(left.count(), 0, 60'000));
}

}  // namespace

EventLoop::EventLoop()
    : epoll_(checked(epoll_create1(EPOLL_CLOEXEC), "epoll_create1")),
      interrupt_(checked(eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK), "eventfd")) {
  watch(interrupt_, [this] {
    std::uint64_t count = 0;
    if (read(interrupt_, &count, sizeof count) == sizeof count) wake_sleepers();
  });
}

EventLoop::~EventLoop() {
  close(interrupt_);
  close(epoll_);
}

void EventLoop::interrupt() noexcept {
  interrupted_ = true;
  const std::uint64_t one = 1;
  const int saved = errno;
  [[maybe_unused]] const auto written = write(interrupt_, &one, sizeof one);
  errno = saved;
}

void EventLoop::watch(int descriptor, std::function<void()> readable) {
  epoll_event event{};
  event.events = EPOLLIN;
  event.data.fd = descriptor;
  checked(epoll_ctl(epoll_, EPOLL_CTL_ADD, descriptor, &event), "epoll_ctl");
  watched_[descriptor] = std::move(readable);
}

void EventLoop::unwatch(int descriptor) {
  watched_.erase(descriptor);
  epoll_ctl(epoll_, EPOLL_CTL_DEL, descriptor, nullptr);
}

void EventLoop::add(const SlotPtr& slot, Moment until, std::coroutine_handle<> handle) {
  slot->waiting = handle;
  slot->timer = timers_.emplace(until, slot);
  slot->timed = true;
}

void EventLoop::forget(Slot& slot) {
  slot.waiting = nullptr;
  if (std::exchange(slot.timed, false)) timers_.erase(slot.timer);
}

void EventLoop::wake(const SlotPtr& slot) {
  if (!slot->timed) return;
  slot->timed = false;
  ready_.push_back(slot);
  timers_.erase(slot->timer);
}

void EventLoop::wake_due() {
  const Moment now = std::chrono::steady_clock::now();
  while (!timers_.empty() && timers_.begin()->first <= now) wake(SlotPtr(timers_.begin()->second));
}

void EventLoop::wake_sleepers() {
  std::vector<SlotPtr> sleepers;
  for (const auto& [moment, slot] : timers_) {
    if (slot->sleeping) sleepers.push_back(slot);
  }
  for (const SlotPtr& slot : sleepers) wake(slot);
}

void EventLoop::wait_for_events() {
  std::array<epoll_event, 64> events;
  int timeout = 0;
  if (ready_.empty()) {
    if (timers_.empty()) throw std::logic_error("a task waits for something that this loop does not know");
    timeout = milliseconds_until(timers_.begin()->first);
  }
  const int count = epoll_wait(epoll_, events.data(), static_cast<int>(events.size()), timeout);
  if (count < 0 && errno != EINTR) checked(count, "epoll_wait");
  for (int i = 0; i < count; ++i) {
    const auto found = watched_.find(events[static_cast<std::size_t>(i)].data.fd);
    if (found != watched_.end()) found->second();
  }
}

void EventLoop::turn() {
  wait_for_events();
  wake_due();
  // Only those that are ready now: what they make ready waits for the next turn, after the sockets.
  for (std::size_t left = ready_.size(); left > 0; --left) {
    const SlotPtr slot = std::move(ready_.front());
    ready_.pop_front();
    if (const auto handle = std::exchange(slot->waiting, nullptr)) handle.resume();
  }
}

void EventLoop::run(std::vector<Task<void>> tasks, std::size_t at_once) {
  std::vector<Task<void>> live;
  std::size_t next = 0;
  const auto settle = [&live] {
    std::erase_if(live, [](Task<void>& task) {
      if (!task.done()) return false;
      task.take();
      return true;
    });
  };
  while (next < tasks.size() || !live.empty()) {
    while (next < tasks.size() && live.size() < std::max<std::size_t>(at_once, 1)) {
      live.push_back(std::move(tasks[next++]));
      live.back().start();
      if (live.back().done()) {
        live.back().take();
        live.pop_back();
      }
    }
    if (!live.empty()) {
      turn();
      settle();
    }
  }
}

}  // namespace vergeset::snmp
