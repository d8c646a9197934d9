#pragma once

#include <fcntl.h>
#include <poll.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>
#include <string>
#include <vector>

namespace vergeset::tests {

/// What a run of the program came to.
struct Ran {
  int status = -1;  ///< exit status; -1 where a signal ended it
  std::string out;
  std::string err;
};

namespace detail {

struct Pipe {
  Pipe() {
    if (pipe2(ends.data(), O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  }
  ~Pipe() {
    close_write();
    close(ends[0]);
  }
  Pipe(const Pipe&) = delete;
  Pipe& operator=(const Pipe&) = delete;
  void close_write() {
    if (ends[1] >= 0) close(ends[1]);
    ends[1] = -1;
  }
  std::array<int, 2> ends{-1, -1};
};

/// Both pipes until each is closed.
inline void drain(Pipe& out, Pipe& err, Ran& ran) {
  std::array<pollfd, 2> wanted{pollfd{out.ends[0], POLLIN, 0}, pollfd{err.ends[0], POLLIN, 0}};
  std::array<std::string*, 2> texts{&ran.out, &ran.err};
  for (int open = 2; open > 0;) {
    if (poll(wanted.data(), wanted.size(), 60000) <= 0) throw std::runtime_error("the program hangs");
    for (std::size_t i = 0; i < wanted.size(); ++i) {
      if (wanted[i].fd < 0 || wanted[i].revents == 0) continue;
      std::array<char, 4096> octets{};
      const ssize_t count = read(wanted[i].fd, octets.data(), octets.size());
      if (count > 0) {
        texts[i]->append(octets.data(), static_cast<std::size_t>(count));
      } else {
        wanted[i].fd = -1;
        --open;
      }
    }
  }
}

}  // namespace detail

/// Runs the built program without a shell, in a pipe, with no terminal to ask at. `environment` is all
/// that it gets. Its output goes into the file `output` where one is named.
inline Ran run(std::vector<std::string> words, std::vector<std::string> environment = {},
               const char* output = nullptr) {
  words.insert(words.begin(), PROGRAM);
  std::vector<char*> arguments;
  for (std::string& word : words) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  std::vector<char*> variables;
  for (std::string& one : environment) variables.push_back(one.data());
  variables.push_back(nullptr);
  detail::Pipe out;
  detail::Pipe err;
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_adddup2(&actions, out.ends[1], 1);
  if (output != nullptr) posix_spawn_file_actions_addopen(&actions, 1, output, O_WRONLY, 0);
  posix_spawn_file_actions_adddup2(&actions, err.ends[1], 2);
  pid_t child = 0;
  const int failed = posix_spawn(&child, PROGRAM, &actions, nullptr, arguments.data(), variables.data());
  posix_spawn_file_actions_destroy(&actions);
  if (failed != 0) throw std::runtime_error("cannot start " PROGRAM);
  out.close_write();
  err.close_write();
  Ran ran;
  detail::drain(out, err, ran);
  int status = 0;
  waitpid(child, &status, 0);
  ran.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  return ran;
}

/// A fleet in a folder that goes with the test.
class Fleet {
 public:
  explicit Fleet(const std::string& name) : folder_(std::string(BINARY_DIR) + "/cli-" + name) {
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_ + "/groups");
    write("fleet.yaml",
          "fleet: Larkmoor trial\n"
          "credentials:\n"
          "  trial:\n"
          "    user: vergeset\n"
          "    auth-secret: {env: TRIAL_AUTH}\n"
          "    privacy-secret: {env: TRIAL_PRIV}\n"
          "settings:\n"
          "  unit-id: \"{unit}\"\n"
          "  notify-address: 192.0.2.9\n");
    write("groups/signals.yaml",
          "settings:\n"
          "  notify-address: 192.0.2.10\n"
          "  position-tolerance: 15 m\n");
    write("units.yaml",
          "units:\n"
          "  LK-101: {address: 127.0.0.1, port: 16101, model: ntcip1218-v01, groups: [signals]}\n"
          "  LK-102: {address: 127.0.0.1, port: 16102, model: rsu-4.1}\n");
  }
  ~Fleet() { std::filesystem::remove_all(folder_); }
  Fleet(const Fleet&) = delete;
  Fleet& operator=(const Fleet&) = delete;

  const std::string& folder() const { return folder_; }
  std::string path(const std::string& name) const { return folder_ + "/" + name; }
  /// At the end of a file.
  void add(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ + "/" + name, std::ios::app) << text;
  }
  void write(const std::string& name, const std::string& text) const {
    std::filesystem::create_directories(std::filesystem::path(path(name)).parent_path());
    std::ofstream(path(name), std::ios::binary) << text;
  }
  /// Runs a command on this fleet.
  Ran on(std::vector<std::string> words, std::vector<std::string> environment = {}) const {
    words.push_back("--fleet");
    words.push_back(folder_);
    return run(std::move(words), std::move(environment));
  }

 private:
  std::string folder_;
};

}  // namespace vergeset::tests
