#pragma once

#include <fcntl.h>
#include <poll.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <csignal>
#include <stdexcept>
#include <string>
#include <vector>

extern char** environ;

/// Programs as children, several at a time from several threads.
namespace crash {

struct Ended {
  int status = -1;   ///< exit status; -1 where a signal ended it
  int signal = 0;    ///< that signal
  std::string text;  ///< both outputs
};

using Environment = std::vector<std::string>;

/// One child and what it says; ended with the object where it has not ended before.
class Child {
 public:
  Child(std::vector<std::string> words, const Environment& more) {
    if (pipe2(ends_.data(), O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
    std::vector<char*> arguments;
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    Environment own = more;
    std::vector<char*> variables;
    for (std::string& one : own) variables.push_back(one.data());
    for (char** one = environ; *one != nullptr; ++one) variables.push_back(*one);
    variables.push_back(nullptr);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_adddup2(&actions, ends_[1], 1);
    posix_spawn_file_actions_adddup2(&actions, ends_[1], 2);
    const int failed =
        posix_spawnp(&pid_, arguments[0], &actions, nullptr, arguments.data(), variables.data());
    posix_spawn_file_actions_destroy(&actions);
    close(ends_[1]);
    if (failed != 0) throw std::runtime_error("cannot start " + words[0]);
  }
  ~Child() {
    if (pid_ > 0) {
      ::kill(pid_, SIGKILL);
      waitpid(pid_, nullptr, 0);
    }
    close(ends_[0]);
  }
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;

  void signal(int number) const { ::kill(pid_, number); }

  /// Reads on until `words` have been said; false where they are not before the end or the limit.
  bool says(const std::string& words, std::chrono::seconds limit = std::chrono::seconds(60)) {
    const auto until = std::chrono::steady_clock::now() + limit;
    while (text_.find(words) == std::string::npos) {
      if (!reads(until)) return false;
    }
    return true;
  }

  /// Waits for its end. One that takes longer is killed, and its text says so.
  Ended wait(std::chrono::seconds limit = std::chrono::seconds(60)) {
    const auto until = std::chrono::steady_clock::now() + limit;
    while (reads(until)) {
    }
    if (std::chrono::steady_clock::now() >= until) {
      ::kill(pid_, SIGKILL);
      text_ += "\n(took too long, and was killed by the test)\n";
    }
    int status = 0;
    waitpid(pid_, &status, 0);
    pid_ = -1;
    return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, WIFSIGNALED(status) ? WTERMSIG(status) : 0, text_};
  }

 private:
  bool reads(std::chrono::steady_clock::time_point until) {
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(until - std::chrono::steady_clock::now());
    pollfd wanted{ends_[0], POLLIN, 0};
    if (left.count() <= 0 || poll(&wanted, 1, static_cast<int>(left.count())) <= 0) return false;
    std::array<char, 4096> octets{};
    const ssize_t count = read(ends_[0], octets.data(), octets.size());
    if (count <= 0) return false;
    text_.append(octets.data(), static_cast<std::size_t>(count));
    return true;
  }

  std::array<int, 2> ends_{-1, -1};
  pid_t pid_ = -1;
  std::string text_;
};

inline Ended run(std::vector<std::string> words, const Environment& more = {}) {
  return Child(std::move(words), more).wait();
}

}  // namespace crash
