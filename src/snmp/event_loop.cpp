#include "snmp/event_loop.h"

#include <sys/epoll.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <exception>
#include <stdexcept>
#include <system_error>
#include <utility>

namespace vergeset::snmp {

namespace {

int checked(int result, const char* what) {
  if (result < 0) throw std::system_error(errno, std::generic_category(), what);
  return result;
}

constexpr std::chrono::milliseconds between_ticks{200};

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

void EventLoop::watch_writable(int descriptor, bool wanted) {
  epoll_event event{};
  event.events = EPOLLIN;
  if (wanted) event.events |= EPOLLOUT;
  event.data.fd = descriptor;
  checked(epoll_ctl(epoll_, EPOLL_CTL_MOD, descriptor, &event), "epoll_ctl");
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

void EventLoop::wake_due(Moment now) {
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
    if (tick_) timeout = std::min(timeout, static_cast<int>(between_ticks.count()));
  }
  const int count = epoll_wait(epoll_, events.data(), static_cast<int>(events.size()), timeout);
  if (count < 0 && errno != EINTR) checked(count, "epoll_wait");
  for (int i = 0; i < count; ++i) {
    const auto found = watched_.find(events[static_cast<std::size_t>(i)].data.fd);
    if (found == watched_.end()) continue;
    const auto told = found->second;  // which may unwatch itself
    told();
  }
}

void EventLoop::turn() {
  wait_for_events();
  const Moment now = std::chrono::steady_clock::now();
  wake_due(now);
  if (tick_ && now >= next_tick_) {
    next_tick_ = now + between_ticks;
    tick_();
  }
  // Only those that are ready now: what they make ready waits for the next turn, after the sockets.
  for (std::size_t left = ready_.size(); left > 0; --left) {
    const SlotPtr slot = std::move(ready_.front());
    ready_.pop_front();
    if (const auto handle = std::exchange(slot->waiting, nullptr)) handle.resume();
  }
}

namespace {

/// The tasks under way, each in a place of its own, and the places whose tasks have ended.
class InHand {
 public:
  std::size_t count() const { return places_.size() - free_.size(); }

  void start(Task<void> task) {
    if (free_.empty()) {
      free_.push_back(places_.size());
      places_.emplace_back();
    }
    const std::size_t place = free_.back();
    free_.pop_back();
    places_[place] = tell_end(std::move(task), place, ended_);
    places_[place].start();
  }

  /// Lets go of those that have ended; how many. What one of them threw is thrown here.
  std::size_t settle() {
    const std::size_t settled = ended_.size();
    for (const std::size_t place : std::exchange(ended_, {})) {
      Task<void> task = std::move(places_[place]);
      free_.push_back(place);
      task.take();
    }
    return settled;
  }

 private:
  static Task<void> tell_end(Task<void> task, std::size_t place, std::vector<std::size_t>& ended) {
    std::exception_ptr failure;
    try {
      co_await std::move(task);
    } catch (...) {
      failure = std::current_exception();
    }
    ended.push_back(place);
    if (failure) std::rethrow_exception(failure);
  }

  std::vector<std::size_t> ended_;  // outlives the tasks that write to it
  std::vector<std::size_t> free_;
  std::deque<Task<void>> places_;
};

}  // namespace

void EventLoop::run_each(std::size_t count, const std::function<Task<void>(std::size_t)>& begin,
                         std::size_t at_once) {
  pace_ = Pace(at_once);
  InHand in_hand;
  const auto settle = [&] {
    for (std::size_t ended = in_hand.settle(); ended > 0; --ended) pace_.unit_ends();
  };
  std::size_t next = 0;
  while (next < count || in_hand.count() > 0) {
    while (next < count && pace_.has_room(in_hand.count())) {
      in_hand.start(begin(next++));
      settle();
    }
    if (in_hand.count() == 0) continue;
    turn();
    settle();
  }
}

}  // namespace vergeset::snmp
