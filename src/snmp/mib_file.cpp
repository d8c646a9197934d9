#include "snmp/mib_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>

#include "snmp/mib_tree.h"
#include "snmp/mib_wire.h"

namespace vergeset::snmp {

namespace {

namespace fs = std::filesystem;

constexpr std::uintmax_t most_octets_of_a_file = 16 << 20;
constexpr std::size_t most_files_of_a_folder = 5000;
constexpr std::size_t most_octets_of_a_result = 256 << 20;
constexpr rlim_t most_stack = 2 << 20;  // the parser recurses once a level, and a tree has 128 of them
constexpr rlim_t most_memory = rlim_t{2} << 30;

/// What may hold a MIB: no device, no pipe, nothing hidden, nothing huge.
bool may_be_mib(const fs::directory_entry& entry) {
  std::error_code error;
  const std::string name = entry.path().filename().string();
  return name.front() != '.' && name.back() != '~' && entry.is_regular_file(error) &&
         entry.file_size(error) <= most_octets_of_a_file && !error;
}

std::vector<std::string> files_of(const std::string& folder) {
  std::vector<std::string> files;
  std::error_code error;
  for (fs::directory_iterator at(folder, error);
       !error && at != fs::directory_iterator() && files.size() < most_files_of_a_folder;
       at.increment(error)) {
    if (may_be_mib(*at)) files.push_back(at->path().string());
  }
  std::sort(files.begin(), files.end());
  return files;
}

std::vector<std::string> imports_of(const MibFiles& wanted) {
  std::vector<std::string> folders = wanted.folders;
  for (const std::string& file : wanted.files) {
    const std::string folder = fs::path(file).parent_path().string();
    folders.push_back(folder.empty() ? "." : folder);
  }
  std::vector<std::string> files;
  for (const std::string& folder : folders) {
    const std::vector<std::string> more = files_of(folder);
    files.insert(files.end(), more.begin(), more.end());
  }
  return files;
}

/// Why a file cannot be read; empty where it can.
std::string why_unreadable(const std::string& file) {
  std::error_code error;
  const fs::file_status status = fs::status(file, error);
  if (!fs::exists(status)) return file + " is missing; name the file of a MIB";
  if (!fs::is_regular_file(status)) return file + " is no file; name the file of a MIB";
  if (fs::file_size(file, error) > most_octets_of_a_file)
    return fmt::format("{} has more than {} MiB, which no MIB has", file, most_octets_of_a_file >> 20);
  if (::access(file.c_str(), R_OK) != 0) return fmt::format("cannot read {}: {}", file, std::strerror(errno));
  return {};
}

void limit(__rlimit_resource resource, rlim_t most) {
  const rlimit both{most, most};
  setrlimit(resource, &both);
}

void live_on_little(std::chrono::seconds patience) {
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  limit(RLIMIT_CORE, 0);
  limit(RLIMIT_FSIZE, 0);
  limit(RLIMIT_STACK, most_stack);
  limit(RLIMIT_CPU, static_cast<rlim_t>(patience.count()));
#ifndef __SANITIZE_ADDRESS__
  // AddressSanitizer has mapped more than that before anything begins.
  limit(RLIMIT_DATA, most_memory);
#endif
}

void write_whole(int to, const std::string& octets) {
  for (std::size_t at = 0; at < octets.size();) {
    const ssize_t count = ::write(to, octets.data() + at, octets.size() - at);
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) return;
    at += static_cast<std::size_t>(count);
  }
}

/// The life of the process that parses.
[[noreturn]] void parse_and_end(const MibFiles& wanted, const std::vector<std::string>& imports, int to) {
  const int nowhere = ::open("/dev/null", O_RDWR | O_CLOEXEC);
  for (const int standard : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) ::dup2(nowhere, standard);
  live_on_little(wanted.patience);
  try {
    write_whole(to, mib_octets(read_mib_here(wanted.files, imports)));
  } catch (const std::exception&) {
    ::_exit(1);
  }
  ::_exit(0);
}

struct Left {
  std::string octets;
  bool late = false;
  bool too_much = false;
};

Left what_is_left(int from, std::chrono::seconds patience) {
  using Clock = std::chrono::steady_clock;
  const auto end = Clock::now() + patience;
  Left left;
  std::array<char, 65536> part{};
  while (true) {
    const auto rest = std::chrono::duration_cast<std::chrono::milliseconds>(end - Clock::now()).count();
    pollfd wanted{from, POLLIN, 0};
    const int ready = rest > 0 ? ::poll(&wanted, 1, static_cast<int>(rest)) : 0;
    if (ready < 0 && errno == EINTR) continue;
    if (ready <= 0) {
      left.late = true;
      return left;
    }
    const ssize_t count = ::read(from, part.data(), part.size());
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) return left;
    left.octets.append(part.data(), static_cast<std::size_t>(count));
    left.too_much = left.octets.size() > most_octets_of_a_result;
    if (left.too_much) return left;
  }
}

int ended(pid_t child) {
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  return status;
}

std::string names_of(const std::vector<std::string>& files) {
  std::string names;
  for (const std::string& file : files) names += (names.empty() ? "" : ", ") + file;
  return names;
}

Result<smi::Mib> judge(const MibFiles& wanted, const Left& left, int status) {
  constexpr const char* look = "; look through it, or try it with other files than these";
  const std::string files = names_of(wanted.files);
  const bool cpu = WIFSIGNALED(status) && WTERMSIG(status) == SIGXCPU;
  if (left.late || cpu)
    return Problem{fmt::format("net-snmp's parser did not come to an end with {} within {} s{}", files,
                               wanted.patience.count(), look)};
  if (left.too_much)
    return Problem{fmt::format("net-snmp's parser made more of {} than any MIB holds{}", files, look)};
  if (WIFSIGNALED(status) || WEXITSTATUS(status) != 0)
    return Problem{fmt::format("net-snmp's parser broke down on {}{}", files, look)};
  auto mib = mib_of(left.octets);
  if (!mib) return Problem{fmt::format("net-snmp's parser broke down on {}{}", files, look)};
  return mib;
}

}  // namespace

std::vector<std::string> usual_mib_folders() {
  return {"/usr/share/mibs/iana",      "/usr/share/mibs/ietf",       "/var/lib/mibs/iana",
          "/var/lib/mibs/ietf",        "/usr/local/share/snmp/mibs", "/usr/share/snmp/mibs",
          "/usr/share/snmp/mibs/iana", "/usr/share/snmp/mibs/ietf"};
}

Result<smi::Mib> read_mib_files(const MibFiles& wanted) {
  for (const std::string& file : wanted.files) {
    if (const std::string why = why_unreadable(file); !why.empty()) return Problem{why};
  }
  const std::vector<std::string> imports = imports_of(wanted);
  std::array<int, 2> ends{-1, -1};
  if (::pipe2(ends.data(), O_CLOEXEC) != 0)
    return Problem{fmt::format("cannot make a pipe to the parser: {}", std::strerror(errno))};
  const pid_t child = ::fork();
  if (child == 0) parse_and_end(wanted, imports, ends[1]);
  ::close(ends[1]);
  if (child < 0) {
    ::close(ends[0]);
    return Problem{fmt::format("cannot start a process for the parser: {}", std::strerror(errno))};
  }
  const Left left = what_is_left(ends[0], wanted.patience);
  ::close(ends[0]);
  if (left.late || left.too_much) ::kill(child, SIGKILL);
  return judge(wanted, left, ended(child));
}

}  // namespace vergeset::snmp
