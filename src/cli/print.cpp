#include "cli/print.h"

#include <pwd.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <langinfo.h>
#include <locale.h>

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
#include "report/wrap.h"
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

/// A terminal that obeys controls. One that does not is a printer, an editor's window, or a reader for the
/// blind.
bool obeys_controls() {
  const char* term = std::getenv("TERM");
  return term != nullptr && std::string(term) != "dumb";
}

bool wants_style() {
  const char* no_color = std::getenv("NO_COLOR");
  return (no_color == nullptr || *no_color == '\0') && obeys_controls();
}

/// Whether the letters of this user's locale are UTF-8.
bool has_all_letters() {
  const locale_t locale = newlocale(LC_CTYPE_MASK, "", nullptr);
  if (locale == nullptr) return false;
  const bool utf8 = std::string_view(nl_langinfo_l(CODESET, locale)) == "UTF-8";
  freelocale(locale);
  return utf8;
}

/// A mark for each letter that a terminal without UTF-8 would make several of, so that columns stay.
std::string in_ascii(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = report::character_end(text, at);
    out += static_cast<unsigned char>(text[at]) < 0x80 ? text[at] : '?';
    at = end;
  }
  return out;
}

/// What people say is written as this descriptor's terminal can show it; files and pipes get all of it.
std::string as_shown(int descriptor, const std::string& text) {
  const bool ascii = std::all_of(text.begin(), text.end(), [](unsigned char one) { return one < 0x80; });
  return ascii || isatty(descriptor) == 0 || has_all_letters() ? text : in_ascii(text);
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

/// On a terminal a line that is too wide is broken between words. One with styles has been fitted already.
std::string fitted(const report::Screen& screen, const std::string& text) {
  std::string out;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    const std::string line = text.substr(begin, end - begin);
    const bool fits = report::text_width(line) <= screen.width || line.find('\033') != std::string::npos;
    if (fits) {
      out += line;
    } else {
      const auto lines = report::wrapped(line, screen.width, screen.break_words);
      for (std::size_t i = 0; i < lines.size(); ++i) out += (i == 0 ? "" : "\n") + lines[i];
    }
    if (end < text.size()) out += '\n';
    begin = end + 1;
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

bool can_write_over() {
  return isatty(STDERR_FILENO) != 0 && obeys_controls();
}

void print(const std::string& words) {
  const std::string text = as_shown(STDOUT_FILENO, guarded(words));
  errno = 0;
  const bool written = std::fwrite(text.data(), 1, text.size(), stdout) == text.size();
  if (written && std::fflush(stdout) == 0) return;
  if (first_failure == 0) first_failure = errno != 0 ? errno : EIO;
}

int output_failure() {
  return first_failure;
}

void print_aside(const std::string& text) {
  const report::Screen screen = screen_aside();
  const std::string shown = guarded(text);
  write_aside(as_shown(STDERR_FILENO, screen.break_words ? fitted(screen, shown) : shown));
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
