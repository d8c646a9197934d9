#include <arpa/inet.h>
#include <fcntl.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <iostream>

#include "marks.h"

/// Gives a marked secret away as it is told to, so that the search can be seen to find it.
///
///   leak CHANNEL MARKS FILE
namespace {

/// Read again from where it was opened: what is deleted is in no folder any more.
bool put(const std::string& path, const std::string& text) {
  const int file = ::open(path.c_str(), O_CREAT | O_TRUNC | O_WRONLY | O_CLOEXEC, 0600);
  const bool done = ::write(file, text.data(), text.size()) == static_cast<ssize_t>(text.size());
  ::close(file);
  return done;
}

/// To itself, so that it is sent and received.
bool send_datagram(const std::string& text) {
  const int socket = ::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  ::inet_pton(AF_INET, "127.105.77.1", &address.sin_addr);
  socklen_t size = sizeof address;
  auto* const at = reinterpret_cast<sockaddr*>(&address);
  if (::bind(socket, at, size) != 0 || ::getsockname(socket, at, &size) != 0) return false;
  const bool sent = ::sendto(socket, text.data(), text.size(), 0, at, size) > 0;
  std::string room(2000, '\0');
  return sent && ::recv(socket, room.data(), room.size(), 0) > 0;
}

bool start(const char* argument, const char* variable) {
  std::string program = "/bin/true";
  std::string word = argument;
  std::string setting = variable;
  char* const arguments[] = {program.data(), word.data(), nullptr};
  char* const environment[] = {setting.data(), nullptr};
  pid_t child = 0;
  if (::posix_spawn(&child, program.c_str(), nullptr, nullptr, arguments, environment) != 0) return false;
  return ::waitpid(child, nullptr, 0) == child;
}

/// Until it is ended, with the secret in its memory.
bool linger(const std::string& text, const std::string& path) {
  put(path, "ready");
  ::sleep(20);
  return text.size() > 1;
}

bool leak(const std::string& channel, const marks::Marks& marks, const std::string& path) {
  const std::string& password = marks.secrets.front().password;
  const std::string key = marks::password_to_key(marks.hashes.front(), password);
  const auto engine = marks.engines.empty() ? std::string() : marks.engines.back().second;
  const std::string unit_key = marks::localized(marks.hashes.front(), key, engine);
  if (channel == "file") return put(path, "before " + password + " behind");
  if (channel == "deleted") return put(path, password) && ::unlink(path.c_str()) == 0;
  if (channel == "hex") return put(path, "{\"key\":\"" + marks::hex(key) + "\"}");
  if (channel == "base64") return put(path, marks::base64("ab" + unit_key) + "=");
  if (channel == "octets") return put(path, "key" + unit_key.substr(0, 16));
  if (channel == "name") return put(path + "-" + password, "");
  if (channel == "output") return std::printf("%s\n", password.c_str()) > 0 && std::fflush(stdout) == 0;
  if (channel == "error") return std::fprintf(stderr, "%s\n", password.c_str()) > 0;
  if (channel == "datagram") return send_datagram("query " + password);
  if (channel == "argument") return start(password.c_str(), "A=1");
  if (channel == "environment") return start("word", ("KEY=" + password).c_str());
  if (channel == "memory") return linger(password, path);
  if (channel == "nothing") return put(path, "nothing") && start("word", "A=1");
  return false;
}

}  // namespace

int main(int count, char** words) {
  if (count != 4) return 2;
  const auto read = marks::read_marks(words[2]);
  if (!read) return 2;
  return leak(words[1], *read, words[3]) ? 0 : 1;
}
