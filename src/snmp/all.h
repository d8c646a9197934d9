#pragma once

#include <coroutine>
#include <cstddef>
#include <exception>
#include <optional>
#include <utility>
#include <vector>

#include "snmp/task.h"

namespace vergeset::snmp {

namespace detail {

/// How many of several tasks still run, and who goes on after the last.
struct Gathering {
  std::size_t left = 0;
  std::coroutine_handle<> awaiter;
  std::exception_ptr failure;

  bool await_ready() const noexcept { return left == 0; }
  void await_suspend(std::coroutine_handle<> handle) noexcept { awaiter = handle; }
  void await_resume() const {
    if (failure) std::rethrow_exception(failure);
  }
};

/// The end of one of them. The last goes over to the awaiter, and is then done with: the awaiter may
/// destroy it.
struct Finished {
  Gathering& gathering;
  bool await_ready() const noexcept { return false; }
  std::coroutine_handle<> await_suspend(std::coroutine_handle<>) const noexcept {
    if (--gathering.left > 0 || !gathering.awaiter) return std::noop_coroutine();
    return gathering.awaiter;
  }
  void await_resume() const noexcept {}
};

template <class T>
Task<void> gather(Task<T> task, std::optional<T>& result, Gathering& gathering) {
  try {
    result.emplace(co_await std::move(task));
  } catch (...) {
    if (!gathering.failure) gathering.failure = std::current_exception();
  }
  co_await Finished{gathering};
}

}  // namespace detail

/// Runs the tasks side by side (several requests in flight for one unit) and yields their results in
/// their order when the last has ended. Where tasks throw, the first exception is thrown then.
template <class T>
Task<std::vector<T>> all(std::vector<Task<T>> tasks) {
  detail::Gathering gathering;
  gathering.left = tasks.size();
  std::vector<std::optional<T>> results(tasks.size());
  std::vector<Task<void>> parts;
  parts.reserve(tasks.size());
  for (std::size_t i = 0; i < tasks.size(); ++i) {
    parts.push_back(detail::gather(std::move(tasks[i]), results[i], gathering));
    parts.back().start();
  }
  co_await gathering;
  std::vector<T> taken;
  taken.reserve(results.size());
  for (std::optional<T>& result : results) taken.push_back(std::move(*result));
  co_return taken;
}

}  // namespace vergeset::snmp
