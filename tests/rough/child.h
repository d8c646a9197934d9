#pragma once

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <thread>
#include <vector>

namespace rough {

inline std::string text_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// Waits, half a minute at most; whether it came to be.
template <class Done>
bool wait_until(Done done) {
  for (int i = 0; i < 3000; ++i) {
    if (done()) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  return done();
}

/// A process of ours: what it says goes to a file, and it ends with the test.
class Child {
 public:
  /// What it came to.
  struct End {
    int status = -1;  ///< exit status; -1 where a signal ended it
    std::string text;
    double seconds = 0;
    long peak_kb = 0;  ///< of memory
  };

  Child(std::vector<std::string> words, std::string log)
      : log_(std::move(log)), began_(std::chrono::steady_clock::now()) {
    process_ = ::fork();
    if (process_ != 0) return;
    const int out = ::open(log_.c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600);
    const int in = ::open("/dev/null", O_RDONLY);
    ::dup2(in, 0);
    ::dup2(out, 1);
    ::dup2(out, 2);
    std::vector<char*> arguments;
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    ::execvp(arguments[0], arguments.data());
    ::_exit(127);
  }
  ~Child() { stop(); }
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;

  pid_t process() const { return process_; }
  std::string text() const { return text_of(log_); }
  void signal(int number) const { ::kill(process_, number); }

  /// Its end, once it has come.
  End wait() {
    if (process_ <= 0) return end_;
    int status = 0;
    rusage used{};
    ::wait4(process_, &status, 0, &used);
    process_ = -1;
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - began_;
    end_ = {WIFEXITED(status) ? WEXITSTATUS(status) : -1, text(), took.count(), used.ru_maxrss};
    return end_;
  }
  End stop() {
    if (process_ > 0) ::kill(process_, SIGTERM);
    return wait();
  }

 private:
  std::string log_;
  std::chrono::steady_clock::time_point began_;
  pid_t process_ = -1;
  End end_;
};

}  // namespace rough
