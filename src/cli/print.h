#pragma once

#include <string>

#include "report/screen.h"

namespace vergeset::cli {

/// Standard output as it is: 80 columns or more of a terminal, or a pipe. Bold and dim on a terminal
/// alone, where NO_COLOR is unset and TERM is not dumb.
report::Screen screen_here();

/// To standard output, at once.
void print(const std::string& text);
/// To standard error, beside a JSON document on standard output.
void print_aside(const std::string& text);

/// "vergeset: text" on standard error; returns exit status 2.
int complain(const std::string& text);

/// Whether a person can be asked, and the answer: yes alone is yes.
bool can_ask();
bool ask(const std::string& question);

/// user@host, for records.
std::string who_am_i();

}  // namespace vergeset::cli
