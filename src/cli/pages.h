#pragma once

#include <string>
#include <vector>

#include "cli/command.h"

namespace vergeset::cli {

/// Where pages of the manual are made from, and what they are made for.
struct PageJob {
  std::string source;     ///< the source tree: README.md, schemas/ and src/cli/pages/ are read in it
  std::string simulator;  ///< what `roadside-sim options` printed, a file
  std::string date;       ///< "2026-11-26", of the pages
  std::string out;        ///< the folder that they are written into, below man1 and man5
};

/// Writes a page for every command, from what its help is made of, and one for each file of src/cli/pages.
/// The exit status. This is for builds: no help shows it.
///
/// A file NAME.5.md is a page of section 5: its first line (`# ...`) says what it is about, and the rest is
/// markdown as report/roff.h has it. A file vergeset-COMMAND.1.md is what the page of a command says beyond
/// its help; it may be missing. A line in braces stands for text that is written elsewhere:
///
///     {README.md > Keys}                               a section of a file of the source tree
///     {README.md > Starting from the field > A model.} paragraphs of it, from the one that begins so
///     {program > limits}                               what the program knows (page_lists.h)
///
/// What is not there is a problem, so that a heading cannot change without its pages.
int write_pages(const std::vector<Command>& commands, const PageJob& job);

}  // namespace vergeset::cli
