#include "sim/agent_control.h"

#include <fmt/format.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <optional>

namespace vergeset::sim {

namespace {

Result<sockaddr_un> address_of(const std::string& path) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (path.size() >= sizeof address.sun_path)
    return Problem{fmt::format("{}: a socket's path may have {} octets at most; choose a shorter --control",
                               path, sizeof address.sun_path - 1)};
  std::memcpy(address.sun_path, path.data(), path.size());
  return address;
}

const sockaddr* generic(const sockaddr_un& address) {
  return reinterpret_cast<const sockaddr*>(&address);
}

void limit_waits(int socket, int seconds) {
  const timeval limit{seconds, 0};
  setsockopt(socket, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
  setsockopt(socket, SOL_SOCKET, SO_SNDTIMEO, &limit, sizeof limit);
}

bool send_all(int socket, std::string_view text) {
  while (!text.empty()) {
    const ssize_t sent = ::send(socket, text.data(), text.size(), MSG_NOSIGNAL);
    if (sent <= 0) return false;
    text.remove_prefix(static_cast<std::size_t>(sent));
  }
  return true;
}

/// Up to the line's end, or to the end of what comes; nothing where the wait ran out.
std::optional<std::string> receive(int socket, bool one_line) {
  std::string text;
  std::array<char, 4096> part{};
  while (true) {
    const ssize_t size = ::recv(socket, part.data(), part.size(), 0);
    if (size < 0) return std::nullopt;
    if (size == 0) return text;
    text.append(part.data(), static_cast<std::size_t>(size));
    const std::size_t end = text.find('\n');
    if (one_line && end != std::string::npos) return text.substr(0, end);
    if (one_line && text.size() > 65536) return std::nullopt;
  }
}

}  // namespace

std::string control_path(const std::string& folder, const std::string& unit) {
  return folder + "/" + unit + ".sock";
}

Result<int> listen_control(const std::string& path) {
  const auto address = address_of(path);
  if (!address) return Problem{address.problem()};
  const int socket = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  if (socket < 0) return Problem{fmt::format("{}: {}", path, std::strerror(errno))};
  ::unlink(path.c_str());
  if (::bind(socket, generic(*address), sizeof *address) != 0 || ::listen(socket, 8) != 0) {
    const Problem problem{fmt::format("cannot listen at {}: {}", path, std::strerror(errno))};
    ::close(socket);
    return problem;
  }
  return socket;
}

void serve_control(int socket, const std::function<std::string(const std::string&)>& answer) {
  const int peer = ::accept4(socket, nullptr, nullptr, SOCK_CLOEXEC);
  if (peer < 0) return;
  limit_waits(peer, 1);
  if (const auto line = receive(peer, true)) send_all(peer, answer(*line));
  ::close(peer);
}

Result<std::string> tell(const std::string& path, const std::string& line) {
  const auto address = address_of(path);
  if (!address) return Problem{address.problem()};
  const int socket = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  if (socket < 0) return Problem{fmt::format("{}: {}", path, std::strerror(errno))};
  limit_waits(socket, 5);
  Result<std::string> result = Problem{fmt::format("{} gave no answer in 5 s", path)};
  if (::connect(socket, generic(*address), sizeof *address) != 0)
    result = Problem{fmt::format("nobody listens at {}: {}", path, std::strerror(errno))};
  else if (send_all(socket, line + "\n"))
    if (auto text = receive(socket, false)) result = *std::move(text);
  ::close(socket);
  return result;
}

}  // namespace vergeset::sim
