#include "sim/agent_control.h"

#include <fmt/format.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <optional>

namespace vergeset::sim {

namespace {

using namespace std::chrono_literals;
using Clock = std::chrono::steady_clock;

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

/// connect(2), where the other end takes the connection within a second.
bool reach(int socket, const sockaddr_un& address) {
  const timeval limit{1, 0};
  setsockopt(socket, SOL_SOCKET, SO_SNDTIMEO, &limit, sizeof limit);
  return ::connect(socket, generic(address), sizeof address) == 0;
}

bool becomes_ready(int socket, short what, Clock::time_point end) {
  const auto left = std::chrono::ceil<std::chrono::milliseconds>(end - Clock::now()).count();
  pollfd waited{socket, what, 0};
  return left > 0 && ::poll(&waited, 1, static_cast<int>(left)) > 0;
}

bool send_all(int socket, std::string_view text, Clock::time_point end) {
  while (!text.empty()) {
    if (!becomes_ready(socket, POLLOUT, end)) return false;
    const ssize_t sent = ::send(socket, text.data(), text.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
    if (sent <= 0) return false;
    text.remove_prefix(static_cast<std::size_t>(sent));
  }
  return true;
}

/// Up to the line's end, or to the end of what comes; nothing where the time ran out.
std::optional<std::string> receive(int socket, bool one_line, Clock::time_point end_of_time) {
  std::string text;
  std::array<char, 4096> part{};
  while (becomes_ready(socket, POLLIN, end_of_time)) {
    const ssize_t size = ::recv(socket, part.data(), part.size(), MSG_DONTWAIT);
    if (size < 0) return std::nullopt;
    if (size == 0) return text;
    text.append(part.data(), static_cast<std::size_t>(size));
    const std::size_t end = text.find('\n');
    if (one_line && end != std::string::npos) return text.substr(0, end);
    if (one_line && text.size() > 65536) return std::nullopt;
  }
  return std::nullopt;
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
  if (reach(socket, *address) || errno == EAGAIN) {
    ::close(socket);
    return Problem{fmt::format("another simulator answers at {}; end it, or choose another --control", path)};
  }
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
  const auto end = Clock::now() + 1s;
  if (const auto line = receive(peer, true, end)) send_all(peer, answer(*line), end);
  ::close(peer);
}

Result<std::string> tell(const std::string& path, const std::string& line) {
  const auto address = address_of(path);
  if (!address) return Problem{address.problem()};
  const int socket = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  if (socket < 0) return Problem{fmt::format("{}: {}", path, std::strerror(errno))};
  const auto end = Clock::now() + 5s;
  Result<std::string> result = Problem{fmt::format("{} gave no answer in 5 s", path)};
  if (!reach(socket, *address))
    result = Problem{fmt::format("nobody listens at {}: {}", path, std::strerror(errno))};
  else if (send_all(socket, line + "\n", end))
    if (auto text = receive(socket, false, end)) result = *std::move(text);
  ::close(socket);
  return result;
}

}  // namespace vergeset::sim
