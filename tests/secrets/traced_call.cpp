#include "traced_call.h"

namespace marks {

namespace {

int digit_of(char digit) {
  return digit <= '9' ? digit - '0' : digit - 'a' + 10;
}

/// The octets up to `end`, which is passed.
std::string octets_until(char end, std::string_view line, std::size_t& at) {
  std::string octets;
  while (at < line.size() && line[at] != end) {
    if (line.compare(at, 2, "\\x") == 0 && at + 3 < line.size()) {
      octets += static_cast<char>(digit_of(line[at + 2]) * 16 + digit_of(line[at + 3]));
      at += 4;
    } else {
      octets += line[at++];
    }
  }
  ++at;
  return octets;
}

}  // namespace

std::optional<TracedCall> read_call(std::string_view line) {
  const std::size_t open = line.find('(');
  if (open == std::string_view::npos || line.find_first_of(" +-") < open) return std::nullopt;
  TracedCall call;
  call.name = line.substr(0, open);
  const bool execution = call.name == "execve" || call.name == "execveat";
  // What the kernel tells of interfaces: strace ends each text of it so.
  const bool of_kernel = call.name == "recvmsg" && line.find("{nla_len=") != std::string_view::npos;
  int lists = 0;
  for (std::size_t at = open + 1; at < line.size();) {
    const char letter = line[at++];
    if (letter == '[') ++lists;
    if (letter == '<' && call.target.empty() && !execution) call.target = octets_until('>', line, at);
    if (letter != '"') continue;
    std::string text = octets_until('"', line, at);
    if (!of_kernel && line.compare(at, 3, "...") == 0) call.cut_short = true;
    if (execution) (lists > 1 ? call.environment : call.arguments).push_back(text);
    call.octets += text;
  }
  return call;
}

}  // namespace marks
