#pragma once

#include <atomic>
#include <chrono>
#include <coroutine>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <unordered_map>
#include <vector>

#include "snmp/losses.h"
#include "snmp/pace.h"
#include "snmp/task.h"

namespace vergeset::snmp {

/// One thread's loop: coroutines that wait for a moment or to be woken, and sockets that become
/// readable. A coroutine is only ever resumed from turn(), never from inside a call of the library,
/// so that what it does next (close its link, throw) meets no half-done work.
class EventLoop {
 public:
  using Moment = std::chrono::steady_clock::time_point;

  EventLoop();
  ~EventLoop();
  EventLoop(const EventLoop&) = delete;
  EventLoop& operator=(const EventLoop&) = delete;

  /// A place where one coroutine waits. Shared by the coroutine and by whoever may wake it, because
  /// either may go first.
  struct Slot;
  using SlotPtr = std::shared_ptr<Slot>;
  using Timers = std::multimap<Moment, SlotPtr>;
  struct Slot {
    std::coroutine_handle<> waiting;
    Timers::iterator timer;
    bool timed = false;
    bool sleeping = false;  ///< an interrupt wakes it
  };
  static SlotPtr make_slot() { return std::make_shared<Slot>(); }

  /// `co_await wait(slot, until)` goes on when the slot is woken or the moment has come. Where the
  /// coroutine is destroyed while it waits, the loop forgets it.
  class Wait {
   public:
    Wait(EventLoop& loop, SlotPtr slot, Moment until) : loop_(loop), slot_(std::move(slot)), until_(until) {}
    ~Wait() { loop_.forget(*slot_); }
    Wait(const Wait&) = delete;
    Wait& operator=(const Wait&) = delete;
    bool await_ready() const noexcept { return false; }
    void await_suspend(std::coroutine_handle<> handle) { loop_.add(slot_, until_, handle); }
    void await_resume() const noexcept {}

   private:
    EventLoop& loop_;
    SlotPtr slot_;
    Moment until_;
  };
  Wait wait(SlotPtr slot, Moment until) { return {*this, std::move(slot), until}; }
  void wake(const SlotPtr& slot);

  void watch(int descriptor, std::function<void()> readable);
  /// `readable` is called when it can be written to as well.
  void watch_writable(int descriptor, bool wanted);
  void unwatch(int descriptor);

  /// See Network::run_each().
  void run_each(std::size_t count, const std::function<Task<void>(std::size_t)>& begin, std::size_t at_once);
  /// Of the run under way.
  Pace& pace() { return pace_; }

  /// What all links lose, over all runs.
  Losses& losses() { return losses_; }

  /// Called a few times a second while tasks run. May be empty.
  void tick(std::function<void()> told) { tick_ = std::move(told); }

  void interrupt() noexcept;
  bool interrupted() const noexcept { return interrupted_.load(); }

 private:
  void add(const SlotPtr& slot, Moment until, std::coroutine_handle<> handle);
  void forget(Slot& slot);
  void turn();
  void wait_for_events();
  void wake_due(Moment now);
  void wake_sleepers();

  int epoll_ = -1;
  int interrupt_ = -1;
  std::atomic<bool> interrupted_ = false;
  Timers timers_;
  std::deque<SlotPtr> ready_;
  std::unordered_map<int, std::function<void()>> watched_;
  Pace pace_{1};
  Losses losses_;
  std::function<void()> tick_;
  Moment next_tick_{};
};

}  // namespace vergeset::snmp
