#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <sstream>

#include "key_changes.h"
#include "marks.h"
#include "traced_call.h"

/// Says where marked secrets are found: in files, and in what strace wrote down of programs. Exit status 1
/// where there are any, 2 where it could not look.
namespace {

namespace fs = std::filesystem;

std::string read_file(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

class Report {
 public:
  Report(const marks::Search& search, std::vector<std::string> meant)
      : search_(search), meant_(std::move(meant)) {}

  /// Whether this file is where secrets are meant to stand.
  bool is_meant(const std::string& file) const {
    return std::find(meant_.begin(), meant_.end(), file) != meant_.end();
  }
  void look(std::string_view octets, const std::string& where) {
    octets_ += octets.size();
    for (const std::string& what : search_.in(octets)) {
      ++found_;
      std::cout << "found " << what << " in " << where << "\n";
    }
  }
  std::size_t found() const { return found_; }
  std::size_t octets() const { return octets_; }

 private:
  const marks::Search& search_;
  std::vector<std::string> meant_;
  std::size_t found_ = 0;
  std::size_t octets_ = 0;
};

/// The program that this trace is of, as far as it was read: a child is its parent until it becomes another.
struct Traced {
  std::string file;
  std::vector<std::string> arguments;
  const std::string& giver;  ///< a folder: the programs and files in it hand secrets to who started them

  bool is_giver() const {
    return !giver.empty() &&
           std::any_of(arguments.begin(), arguments.end(), [&](const std::string& argument) {
             return argument.find(giver) != std::string::npos;
           });
  }
};

bool starts_with(const std::string& text, std::string_view start) {
  return text.compare(0, start.size(), start) == 0;
}

/// What a program gets from the user that runs it is no leak; what it hands on is.
void look_at_execution(const marks::TracedCall& call, Traced& traced, const std::string& tested,
                       Report& report) {
  traced.arguments = call.arguments;
  const std::string program = call.arguments.empty() ? "?" : call.arguments.front();
  const std::string where = program + " (" + traced.file + ")";
  for (const std::string& argument : call.arguments) report.look(argument, "an argument of " + where);
  if (fs::path(program).filename() == tested) return;
  for (const std::string& variable : call.environment) report.look(variable, "the environment of " + where);
}

std::string place_of(const marks::TracedCall& call) {
  if (starts_with(call.name, "recv")) return "what came by " + call.target;
  return "what " + call.name + " sent to " + call.target;
}

/// False where a line was cut short, and not all could be looked at.
bool look_at_trace(const fs::path& path, const std::string& tested, const std::string& giver,
                   Report& report) {
  std::ifstream file(path);
  Traced traced{path.filename(), {}, giver};
  std::string line;
  bool whole = true;
  while (std::getline(file, line)) {
    const auto call = marks::read_call(line);
    if (!call) continue;
    whole = whole && !call->cut_short;
    if (call->name == "execve" || call->name == "execveat")
      look_at_execution(*call, traced, tested, report);
    else if (!report.is_meant(call->target) && !(starts_with(call->target, "pipe:") && traced.is_giver()))
      report.look(call->octets, place_of(*call) + " (" + traced.file + ")");
  }
  return whole;
}

/// A line of marks for each key change that was sent.
void list_key_changes(const fs::path& path, const marks::Marks& marks) {
  std::ifstream file(path);
  std::string line;
  while (std::getline(file, line)) {
    const auto call = marks::read_call(line);
    if (!call || !starts_with(call->name, "send")) continue;
    // The texts of a call begin with the address, and may be of several messages.
    const std::string_view texts = call->octets;
    for (std::size_t at = texts.find('\x30'); at != std::string_view::npos; at = texts.find('\x30', at + 1))
      for (const std::string& change : marks::key_changes_in(texts.substr(at), marks))
        std::cout << "octets key-change " << marks::hex(change) << "\n";
  }
}

std::vector<fs::path> files_below(const std::string& path) {
  if (fs::is_regular_file(path)) return {path};
  std::vector<fs::path> files;
  for (const auto& entry : fs::recursive_directory_iterator(path))
    if (entry.is_regular_file() && !entry.is_symlink()) files.push_back(entry.path());
  return files;
}

}  // namespace

int main(int count, char** words) {
  CLI::App app{"Says where marked secrets are found."};
  std::string marks_file;
  std::vector<std::string> traces;
  std::vector<std::string> paths;
  std::string giver;
  std::string tested = "vergeset";
  bool passwords_only = false;
  bool key_changes = false;
  std::vector<std::string> meant;
  app.add_option("--marks", marks_file, "file of the marks")->required();
  app.add_option("--traces", traces, "folder of what strace -ff wrote");
  app.add_option("--giver", giver, "folder of what hands secrets over, through pipes");
  app.add_option("--tested", tested, "the program that gets secrets in its environment");
  app.add_flag("--passwords-only", passwords_only, "not for keys");
  app.add_option("--meant", meant, "file that secrets are meant to stand in, by its absolute name");
  app.add_flag("--key-changes", key_changes, "lists those that were sent, as marks; looks for nothing");
  app.add_option("paths", paths, "files and folders");
  CLI11_PARSE(app, count, words);

  const auto read = marks::read_marks(marks_file);
  if (!read) {
    std::cerr << "mark_search: cannot understand " << marks_file << "\n";
    return 2;
  }
  const marks::Search search(*read, passwords_only);
  Report report(search, meant);
  std::size_t files = 0;
  try {
    if (key_changes) {
      for (const std::string& folder : traces)
        for (const fs::path& trace : files_below(folder)) list_key_changes(trace, *read);
      return 0;
    }
    for (const std::string& folder : traces)
      for (const fs::path& trace : files_below(folder)) {
        ++files;
        if (look_at_trace(trace, tested, giver, report)) continue;
        std::cerr << "mark_search: " << trace.string() << " is cut short\n";
        return 2;
      }
    for (const std::string& path : paths)
      for (const fs::path& file : files_below(path)) {
        if (report.is_meant(file)) continue;
        ++files;
        report.look(file.filename().string(), "the name of " + file.string());
        report.look(read_file(file), file.string());
      }
  } catch (const fs::filesystem_error& error) {
    std::cerr << "mark_search: " << error.what() << "\n";
    return 2;
  }
  std::cout << "looked for " << search.size() << " texts in " << report.octets() << " octets of " << files
            << " files\n";
  return report.found() > 0 ? 1 : 0;
}
