#include "cli/print.h"

#include <pwd.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <string_view>

#include "cli/exit_status.h"
#include "report/words.h"
#include "smi/inert.h"

namespace vergeset::cli {

namespace {

constexpr int least_width = 40;

int terminal_width(int descriptor) {
  if (const char* columns = std::getenv("COLUMNS")) {
    const int width = std::atoi(columns);
    if (width >= least_width) return width;
  }
  winsize size{};
  if (ioctl(descriptor, TIOCGWINSZ, &size) == 0 && size.ws_col >= least_width) return size.ws_col;
  return 80;
}

bool wants_style() {
  const char* no_color = std::getenv("NO_COLOR");
  const char* term = std::getenv("TERM");
  return (no_color == nullptr || *no_color == '\0') && term != nullptr && std::string(term) != "dumb";
}

report::Screen screen_of(int descriptor) {
  report::Screen screen;
  if (isatty(descriptor) == 0) return screen;
  screen.width = terminal_width(descriptor);
  screen.styled = wants_style();
  screen.break_words = true;
  return screen;
}

int first_failure = 0;

/// Our own styles, which report::bold and report::dim make, stay.
std::string guarded(std::string_view text) {
  constexpr std::array<std::string_view, 3> styles = {"\033[0m", "\033[1m", "\033[2m"};
  std::string out;
  while (!text.empty()) {
    const auto escape = text.find('\033');
    out += smi::inert_lines(text.substr(0, escape));
    if (escape == std::string_view::npos) break;
    text.remove_prefix(escape);
    const auto style = std::find_if(styles.begin(), styles.end(),
                                    [&](std::string_view one) { return text.substr(0, one.size()) == one; });
    const std::size_t octets = style == styles.end() ? 1 : style->size();
    out += style == styles.end() ? smi::inert(text.substr(0, 1)) : std::string(*style);
    text.remove_prefix(octets);
  }
  return out;
}

void write_aside(const std::string& text) {
  std::fwrite(text.data(), 1, text.size(), stderr);
}

}  // namespace

report::Screen screen_here() {
  return screen_of(STDOUT_FILENO);
}

report::Screen screen_aside() {
  return screen_of(STDERR_FILENO);
}

void print(const std::string& words) {
  const std::string text = guarded(words);
  errno = 0;
  const bool written = std::fwrite(text.data(), 1, text.size(), stdout) == text.size();
  if (written && std::fflush(stdout) == 0) return;
  if (first_failure == 0) first_failure = errno != 0 ? errno : EIO;
}

int output_failure() {
  return first_failure;
}

void print_aside(const std::string& text) {
  write_aside(guarded(text));
}

void print_over(const std::string& text) {
  write_aside("\r" + smi::inert(text));
}

int complain(const std::string& text) {
  print_aside("vergeset: " + text + "\n");
  return Exit::bad_input;
}

bool can_ask() {
  return isatty(STDIN_FILENO) != 0;
}

bool ask(const std::string& question) {
  print_aside(question + " ");
  std::string answer;
  std::getline(std::cin, answer);
  std::transform(answer.begin(), answer.end(), answer.begin(),
                 [](unsigned char c) { return std::tolower(c); });
  return answer == "yes" || answer == "y";
}

std::string who_am_i() {
  std::array<char, 256> host{};
  if (gethostname(host.data(), host.size() - 1) != 0) host[0] = '\0';
  const passwd* user = getpwuid(geteuid());
  return (user != nullptr ? std::string(user->pw_name) : std::to_string(geteuid())) + "@" + host.data();
}

}  // namespace vergeset::cli
