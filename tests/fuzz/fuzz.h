#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

/// What all targets stand on. A target reads any octets whatever through one of the readers and says with
/// `must` what holds of each of them. It is either a program that libFuzzer drives, or, with VERGESET_REPLAY,
/// one of those that the replay program knows by name.
namespace vergeset::fuzz {

using Target = void (*)(std::string_view input);

/// Puts a target on the list of the replay program.
bool enlist(const char* name, Target target);

/// Where a promise does not hold the process ends, so that libFuzzer keeps the input.
inline void must(bool holds, const char* promise, std::string_view about = {}) {
  if (holds) return;
  std::fprintf(stderr, "BROKEN PROMISE: %s\n%.*s\n", promise, static_cast<int>(about.size()), about.data());
  std::abort();
}

/// Text that a person may be shown as it is: no control characters but line ends, which could rewrite what
/// stands on a terminal.
inline bool safe_to_show(std::string_view text) {
  for (const char letter : text) {
    const auto octet = static_cast<unsigned char>(letter);
    if ((octet < 0x20 && letter != '\n') || octet == 0x7f) return false;
  }
  return true;
}

/// What a refusal must be: words, safe to show, and not as long as what it refuses may be.
inline void must_explain(std::string_view problem) {
  must(!problem.empty(), "a refusal says why");
  must(safe_to_show(problem), "a refusal is safe to show", problem);
  must(problem.size() < 4000, "a refusal can be read to its end", problem.substr(0, 400));
}

/// The first line of an input that has several parts; takes it off the input.
inline std::string_view take_line(std::string_view& input) {
  const std::size_t end = input.find('\n');
  const std::string_view line = input.substr(0, end);
  input = end == std::string_view::npos ? std::string_view() : input.substr(end + 1);
  return line;
}

/// A number out of the first octet; takes it off the input. 0 where there is none.
inline unsigned take_octet(std::string_view& input) {
  if (input.empty()) return 0;
  const unsigned octet = static_cast<unsigned char>(input.front());
  input.remove_prefix(1);
  return octet;
}

}  // namespace vergeset::fuzz

#ifdef VERGESET_REPLAY
#define FUZZ_TARGET(name)                                                                       \
  static void run_##name(std::string_view input);                                               \
  [[maybe_unused]] static const bool name##_listed = vergeset::fuzz::enlist(#name, run_##name); \
  static void run_##name(std::string_view input)
#else
#define FUZZ_TARGET(name)                                                               \
  static void run_##name(std::string_view input);                                       \
  extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* octets, std::size_t size) { \
    run_##name({reinterpret_cast<const char*>(octets), size});                          \
    return 0;                                                                           \
  }                                                                                     \
  static void run_##name(std::string_view input)
#endif
