#pragma once

#include <cstddef>
#include <string>

#include "report/screen.h"

namespace vergeset::cli {

/// Standard output as it is: 80 columns or more of a terminal, or a pipe. Bold and dim on a terminal
/// alone, where NO_COLOR is unset and TERM is not dumb.
report::Screen screen_here();
/// The same of standard error.
report::Screen screen_aside();

/// To standard output, at once. A write that fails ends nothing: a change is not left half way because
/// nobody can read of it.
///
/// Nothing that these print can do more to a terminal than be bold or dim (smi/inert.h): what a unit or a
/// record of another host says is made inert where it is put into tables and documents, and whatever was
/// forgotten here. On a terminal whose locale is not UTF-8 other letters than ASCII are a question mark each.
void print(const std::string& text);
/// The errno of the first write of `print` that failed; 0 where none did.
int output_failure();
/// To standard error, beside a JSON document on standard output.
void print_aside(const std::string& text);

/// Whether standard error is a terminal on which a line can be written over the one before; with TERM=dumb it is
/// none, and a reader for the blind would read all of them.
bool can_write_over();
/// The same over the line that stands there.
void print_over(const std::string& text);

/// "vergeset: text" on standard error; returns exit status 2.
int complain(const std::string& text);

/// Whether a person can be asked, and the answer: yes or y, in any case, is yes.
bool can_ask();
bool ask(const std::string& question);

/// user@host, for records.
std::string who_am_i();

}  // namespace vergeset::cli
