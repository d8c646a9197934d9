#pragma once

#include <coroutine>
#include <exception>
#include <optional>
#include <utility>

namespace vergeset::snmp {

/// A coroutine that yields one T. It starts when it is awaited, and goes back to its awaiter by
/// symmetric transfer, so that a chain of any length uses no stack. Awaited once; owned by whoever
/// holds it. An exception goes to the awaiter.
template <class T = void>
class [[nodiscard]] Task;

namespace detail {

struct PromiseBase {
  std::coroutine_handle<> awaiter = std::noop_coroutine();
  std::exception_ptr failure;

  std::suspend_always initial_suspend() noexcept { return {}; }
  struct Final {
    bool await_ready() noexcept { return false; }
    template <class Promise>
    std::coroutine_handle<> await_suspend(std::coroutine_handle<Promise> self) noexcept {
      return self.promise().awaiter;
    }
    void await_resume() noexcept {}
  };
  Final final_suspend() noexcept { return {}; }
  void unhandled_exception() { failure = std::current_exception(); }
};

template <class T>
struct Promise : PromiseBase {
  std::optional<T> result;
  Task<T> get_return_object();
  template <class U>
  void return_value(U&& value) {
    result.emplace(std::forward<U>(value));
  }
  T take() {
    if (failure) std::rethrow_exception(failure);
    return std::move(*result);
  }
};

template <>
struct Promise<void> : PromiseBase {
  Task<void> get_return_object();
  void return_void() {}
  void take() {
    if (failure) std::rethrow_exception(failure);
  }
};

}  // namespace detail

template <class T>
class [[nodiscard]] Task {
 public:
  using promise_type = detail::Promise<T>;
  using Handle = std::coroutine_handle<promise_type>;

  Task() = default;
  explicit Task(Handle handle) : handle_(handle) {}
  Task(Task&& other) noexcept : handle_(std::exchange(other.handle_, {})) {}
  Task& operator=(Task&& other) noexcept {
    if (this != &other) {
      if (handle_) handle_.destroy();
      handle_ = std::exchange(other.handle_, {});
    }
    return *this;
  }
  ~Task() {
    if (handle_) handle_.destroy();
  }

  bool await_ready() const noexcept { return false; }
  std::coroutine_handle<> await_suspend(std::coroutine_handle<> awaiter) noexcept {
    handle_.promise().awaiter = awaiter;
    return handle_;
  }
  T await_resume() { return handle_.promise().take(); }

  /// For a loop that starts the outermost task: runs it up to its first wait.
  void start() { handle_.resume(); }
  bool done() const { return handle_.done(); }
  T take() { return handle_.promise().take(); }

 private:
  Handle handle_;
};

namespace detail {
template <class T>
Task<T> Promise<T>::get_return_object() {
  return Task<T>(std::coroutine_handle<Promise<T>>::from_promise(*this));
}
inline Task<void> Promise<void>::get_return_object() {
  return Task<void>(std::coroutine_handle<Promise<void>>::from_promise(*this));
}
}  // namespace detail

}  // namespace vergeset::snmp
