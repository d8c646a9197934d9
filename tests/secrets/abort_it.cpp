#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <sstream>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

/// Runs a program that is allowed a core dump of any size, copies its memory as root could, ends it by
/// SIGABRT, and says whether the system left a core: "core" or "no core". Exit status 2 where it ended
/// before, 3 where this user may not see its memory.
namespace {

using namespace std::chrono_literals;

struct Asked {
  std::vector<std::string> command;
  int after_ms = 1500;  ///< until it is ended
  std::string ready;    ///< a file: not after a time, but when it is there
  std::string memory;   ///< a file for what its memory holds
};

pid_t start(std::vector<std::string> command) {
  const pid_t child = ::fork();
  if (child != 0) return child;
  rlimit limit{};
  ::getrlimit(RLIMIT_CORE, &limit);
  limit.rlim_cur = limit.rlim_max;
  ::setrlimit(RLIMIT_CORE, &limit);
  std::vector<char*> arguments;
  for (std::string& word : command) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  ::execv(arguments[0], arguments.data());
  ::_exit(127);
}

void wait_for(const Asked& asked) {
  if (asked.ready.empty()) std::this_thread::sleep_for(std::chrono::milliseconds(asked.after_ms));
  for (int i = 0; i < 100 && !asked.ready.empty() && !std::filesystem::exists(asked.ready); ++i)
    std::this_thread::sleep_for(50ms);
}

/// All that can be written in it: heap, stacks, data. False where the system does not show it.
bool copy_memory(pid_t process, const std::string& to) {
  const std::string folder = "/proc/" + std::to_string(process);
  const int memory = ::open((folder + "/mem").c_str(), O_RDONLY | O_CLOEXEC);
  if (memory < 0) return false;
  std::ifstream maps(folder + "/maps");
  std::ofstream copy(to, std::ios::binary);
  std::size_t copied = 0;
  for (std::string line; std::getline(maps, line);) {
    std::istringstream words(line);
    std::uint64_t from = 0;
    std::uint64_t end = 0;
    char dash = 0;
    std::string rights;
    words >> std::hex >> from >> dash >> end >> rights;
    if (rights.compare(0, 2, "rw") != 0) continue;
    std::string part(1 << 16, '\0');
    for (; from < end; from += part.size()) {
      const ssize_t size = ::pread(memory, part.data(), std::min<std::uint64_t>(part.size(), end - from),
                                   static_cast<off_t>(from));
      if (size <= 0) continue;
      copy.write(part.data(), size);
      copied += static_cast<std::size_t>(size);
    }
  }
  ::close(memory);
  return copied > 0;
}

int run(const Asked& asked) {
  const pid_t process = start(asked.command);
  wait_for(asked);
  const bool seen = asked.memory.empty() || copy_memory(process, asked.memory);
  ::kill(process, SIGABRT);
  int status = 0;
  ::waitpid(process, &status, 0);
  if (!WIFSIGNALED(status) || WTERMSIG(status) != SIGABRT) {
    std::cerr << "abort_it: " << asked.command[0] << " had ended before\n";
    return 2;
  }
  std::cout << (WCOREDUMP(status) ? "core" : "no core") << "\n";
  return seen ? 0 : 3;
}

}  // namespace

int main(int count, char** words) {
  Asked asked;
  int at = 1;
  for (; at + 1 < count && std::string_view(words[at]) != "--"; at += 2) {
    const std::string_view option = words[at];
    if (option == "--after") asked.after_ms = std::atoi(words[at + 1]);
    if (option == "--ready") asked.ready = words[at + 1];
    if (option == "--memory") asked.memory = words[at + 1];
  }
  asked.command.assign(words + std::min(at + 1, count), words + count);
  if (asked.command.empty()) {
    std::cerr << "usage: abort_it [--after MS | --ready FILE] [--memory FILE] -- PROGRAM ARGUMENTS...\n";
    return 1;
  }
  return run(asked);
}
