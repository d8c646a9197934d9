#pragma once

#include <string>
#include <utility>
#include <variant>

namespace vergeset {

/// What went wrong, in words for a person: what was expected and what stood there. The caller
/// knows the place (file and line, unit and object) and puts it in front.
struct Problem {
  std::string text;
};

/// A value or the problem that kept it from being made. Bad input is expected here, so it is a
/// value; exceptions are left for bugs and full disks.
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : held_(std::move(value)) {}
  Result(Problem problem) : held_(std::move(problem)) {}

  explicit operator bool() const { return std::holds_alternative<T>(held_); }
  const T& operator*() const& { return std::get<T>(held_); }
  T&& operator*() && { return std::get<T>(std::move(held_)); }
  const T* operator->() const { return &std::get<T>(held_); }
  const std::string& problem() const { return std::get<Problem>(held_).text; }

 private:
  std::variant<T, Problem> held_;
};

}  // namespace vergeset
