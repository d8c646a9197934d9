#pragma once

#include <poll.h>
#include <pty.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "smi/inert.h"
#include "smi/utf8.h"
#include "smi/words.h"

namespace vergeset::tests {

/// Empty, or the place in a text that could move a cursor, hide something, or turn the direction of writing.
/// Lines end, and on a terminal there is bold and dim, and the carriage return that the terminal puts in.
inline std::string moves(std::string text, bool terminal = false) {
  if (terminal) {
    for (const std::string ours : {"\033[0m", "\033[1m", "\033[2m", "\r\n"}) {
      for (auto at = text.find(ours); at != std::string::npos; at = text.find(ours, at))
        text.replace(at, ours.size(), ours == "\r\n" ? "\n" : "");
    }
  }
  for (std::size_t at = 0; at < text.size();) {
    const Character one = character_at(text, at);
    if (!one.valid || (smi::rewrites(one.code) && one.code != '\n'))
      return smi::escaped(text.substr(at < 60 ? 0 : at - 60, 80));
    at += one.octets;
  }
  return {};
}

inline std::string octets_of_file(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// Empty, or what is wrong in a folder of records: a text that moves, a name that is none, a mode that is
/// wider than 0700 and 0600.
inline std::string wrong_in(const std::string& folder) {
  constexpr const char* letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789._-";
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    const std::string path = entry.path().string();
    struct stat found {};
    if (::lstat(path.c_str(), &found) != 0) return path + ": gone";
    const unsigned mode = found.st_mode & 07777U;
    if (mode != (S_ISDIR(found.st_mode) ? 0700U : 0600U)) return path + ": mode " + std::to_string(mode);
    if (entry.path().filename().string().find_first_not_of(letters) != std::string::npos)
      return path + ": its name";
    if (!S_ISREG(found.st_mode)) continue;
    if (const std::string at = moves(octets_of_file(path)); !at.empty()) return path + ": " + at;
  }
  return {};
}

/// Runs a program on a terminal of its own; all that it shows there. It has a minute.
inline std::string on_terminal(std::vector<std::string> words) {
  int terminal = -1;
  winsize size{40, 100, 0, 0};
  const pid_t child = ::forkpty(&terminal, nullptr, nullptr, &size);
  if (child == 0) {
    ::setenv("TERM", "xterm", 1);
    ::unsetenv("NO_COLOR");
    std::vector<char*> arguments;
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    ::execv(arguments[0], arguments.data());
    ::_exit(127);
  }
  std::string shown;
  for (std::array<char, 4096> part{};;) {
    pollfd wanted{terminal, POLLIN, 0};
    if (::poll(&wanted, 1, 60000) <= 0) ::kill(child, SIGKILL);
    const ssize_t count = ::read(terminal, part.data(), part.size());
    if (count <= 0) break;  // EIO once the program has ended
    shown.append(part.data(), static_cast<std::size_t>(count));
  }
  ::close(terminal);
  ::waitpid(child, nullptr, 0);
  return shown;
}

}  // namespace vergeset::tests
