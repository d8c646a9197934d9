#include "cli/pages.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <optional>
#include <sstream>
#include <string_view>
#include <utility>

#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/page_lists.h"
#include "cli/print.h"
#include "report/roff.h"
#include "smi/words.h"

namespace vergeset::cli {

namespace {

namespace fs = std::filesystem;

/// One page: its name and section, what it is about in a few words, and the roff of what follows.
struct Page {
  std::string name;
  std::string section;
  std::string about;
  std::string body;
};

std::vector<std::string> lines_in(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) lines.push_back(std::move(line));
  return lines;
}

std::size_t depth_of(const std::string& line) {
  const auto depth = line.find_first_not_of('#');
  return depth == std::string::npos ? 0 : depth;
}

/// What stands under a heading of a markdown text, up to the next one that is not below it; of the title of
/// the whole text what stands before the first heading.
std::optional<std::string> section_under(const std::string& text, const std::string& heading) {
  std::string out;
  std::size_t depth = 0;
  for (const std::string& line : lines_in(text)) {
    const std::size_t here = depth_of(line);
    if (depth > 0 && here > 0 && (here <= depth || depth == 1)) break;
    if (depth > 0) out += line + "\n";
    if (depth == 0 && here > 0 && smi::trimmed(std::string_view(line).substr(here)) == heading) depth = here;
  }
  return depth > 0 ? std::optional(out) : std::nullopt;
}

/// The paragraph of a section that begins with these words; where they are bold, also what follows it up to
/// the next that begins so.
std::optional<std::string> paragraphs_from(const std::string& section, const std::string& words) {
  std::string out;
  bool bold = false;
  bool inside = false;
  bool fresh = true;  // a paragraph begins here
  for (const std::string& line : lines_in(section)) {
    const bool begins = fresh && (line.starts_with(words) || line.starts_with("**" + words));
    if (begins) {
      inside = true;
      bold = line.starts_with("**");
    } else if (inside && (bold ? line.starts_with("**") : line.empty())) {
      break;
    }
    if (inside) out += line + "\n";
    fresh = line.empty();
  }
  return out.empty() ? std::nullopt : std::optional(out);
}

std::vector<std::string> parts_of(std::string_view text) {
  constexpr std::string_view between = " > ";
  std::vector<std::string> parts;
  for (auto at = text.find(between); at != std::string_view::npos; at = text.find(between)) {
    parts.emplace_back(text.substr(0, at));
    text.remove_prefix(at + between.size());
  }
  parts.emplace_back(text);
  return parts;
}

/// What a line in braces stands for.
Result<std::string> taken_from_elsewhere(const PageJob& job, std::string_view line) {
  const std::vector<std::string> parts = parts_of(line.substr(1, line.size() - 2));
  const Problem wrong{fmt::format("{} stands for nothing", line)};
  if (parts.size() < 2 || parts.size() > 3) return wrong;
  if (parts[0] == "program") return page_list(parts[1], job.source + "/schemas");
  const auto file = read_file(job.source + "/" + parts[0]);
  if (!file) return Problem{file.problem()};
  const auto section = section_under(*file, parts[1]);
  if (!section) return wrong;
  if (parts.size() == 2) return *section;
  const auto paragraphs = paragraphs_from(*section, parts[2]);
  return paragraphs ? Result<std::string>(*paragraphs) : wrong;
}

/// A file of src/cli/pages with all in it that stands elsewhere.
Result<std::string> whole_text(const PageJob& job, const fs::path& path) {
  const auto text = read_file(path.string());
  if (!text) return Problem{text.problem()};
  std::string out;
  for (const std::string& line : lines_in(*text)) {
    if (!line.starts_with('{') || !line.ends_with('}')) {
      out += line + "\n";
      continue;
    }
    const auto taken = taken_from_elsewhere(job, line);
    if (!taken) return Problem{path.string() + ": " + taken.problem()};
    out += *taken;
  }
  return out;
}

std::string written_option(const Option& option) {
  const std::string value = option.value.empty() ? "" : " " + report::roff_slanted(option.value);
  return (option.dashed() ? report::roff_bold(option.name) : report::roff_slanted(option.name)) + value;
}

/// "Tells faults." as the first line of a page has it: "tells faults".
std::string as_name(std::string about) {
  if (about.size() > 1 && std::islower(static_cast<unsigned char>(about[1])) != 0)
    about[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(about[0])));
  while (about.ends_with('.')) about.pop_back();
  return about;
}

std::string synopsis_of(const Command& command) {
  std::string text =
      report::roff_bold("vergeset " + command.name) + " [" + report::roff_slanted("options") + "]";
  for (const Section& section : command.sections) {
    for (const Option& option : section.options) {
      if (option.dashed()) continue;
      const bool many = std::holds_alternative<std::vector<std::string>*>(option.target);
      const std::string word = report::roff_slanted(option.name) + (many ? " ..." : "");
      text += option.required ? " " + word : " [" + word + "]";
    }
  }
  return ".SH SYNOPSIS\n" + text + "\n";
}

std::string options_of(const Command& command) {
  std::string out = ".SH OPTIONS\n";
  for (const Section& section : command.sections) {
    if (!section.heading.empty()) out += fmt::format(".SS \"{}\"\n", section.heading);
    std::string waiting;
    for (const Option& option : section.options) {
      waiting += (waiting.empty() ? "" : ", ") + written_option(option);
      if (!option.help.empty())
        out += report::roff_item(std::exchange(waiting, {}), report::roff_text(option.help));
    }
  }
  return out + report::roff_item(report::roff_bold("--help"), "the same on one screen");
}

/// Before the first heading of its own, and from there.
std::pair<std::string, std::string> at_first_heading(const std::string& text) {
  if (text.starts_with("## ")) return {"", text};
  const auto at = text.find("\n## ");
  return at == std::string::npos ? std::pair(text, std::string())
                                 : std::pair(text.substr(0, at + 1), text.substr(at + 1));
}

Result<Page> page_of(const Command& command, const PageJob& job) {
  const fs::path own = job.source + "/src/cli/pages/vergeset-" + command.name + ".1.md";
  std::string text;
  if (fs::exists(own)) {
    auto whole = whole_text(job, own);
    if (!whole) return Problem{whole.problem()};
    text = *std::move(whole);
  }
  const auto [description, further] = at_first_heading(text);
  Page page{"vergeset-" + command.name, "1", as_name(command.about), synopsis_of(command)};
  page.body += ".SH DESCRIPTION\n" + report::roff_text(command.about) + "\n";
  page.body += report::roff_of_markdown(description, false);
  page.body += options_of(command) + report::roff_of_markdown(further, false);
  page.body += ".SH EXAMPLE\n" + report::roff_literal(command.example, true);
  return page;
}

std::string list_of(const std::vector<Command>& commands) {
  std::string out = ".SH COMMANDS\n";
  for (const Command& command : commands) {
    out += report::roff_item(report::roff_bold("vergeset-" + command.name) + "(1)",
                             report::roff_text(as_name(command.about)));
  }
  return out;
}

/// What `roadside-sim options` printed: an option a line with what it does behind a tab; behind an empty line
/// what it can be told.
Result<std::string> simulator_options(const PageJob& job) {
  const auto text = read_file(job.simulator);
  if (!text) return Problem{text.problem()};
  std::string out = ".SH OPTIONS\n";
  std::string words;
  bool behind = false;
  for (const std::string& line : lines_in(*text)) {
    const auto tab = line.find('\t');
    behind = behind || line.empty();
    if (behind) {
      words += line + "\n";
    } else if (tab != std::string::npos) {
      const auto blank = std::min(line.find(' '), tab);
      const std::string value =
          blank < tab ? " " + report::roff_slanted(line.substr(blank + 1, tab - blank - 1)) : "";
      out += report::roff_item(report::roff_bold(line.substr(0, blank)) + value,
                               report::roff_text(line.substr(tab + 1)));
    }
  }
  return out + ".SH TELLING UNITS\n" + report::roff_literal(smi::trimmed(words), true);
}

/// A page that is no command's: its file says all, but for lists that the program has.
Result<Page> page_of(const fs::path& path, const PageJob& job, const std::vector<Command>& commands) {
  auto whole = whole_text(job, path);
  if (!whole) return Problem{whole.problem()};
  const auto end = whole->find('\n');
  if (!whole->starts_with("# ") || end == std::string::npos)
    return Problem{path.string() + ": expected `# ` and what the page is about in its first line"};
  const std::string name = path.stem().stem().string();
  Page page{name, path.stem().extension().string().substr(1), whole->substr(2, end - 2), {}};
  const auto [description, further] = at_first_heading(whole->substr(end + 1));
  page.body = ".SH DESCRIPTION\n" + report::roff_of_markdown(description, true);
  if (name == "vergeset") page.body += list_of(commands);
  if (name == "roadside-sim") {
    const auto options = simulator_options(job);
    if (!options) return Problem{options.problem()};
    page.body += *options;
  }
  page.body += report::roff_of_markdown(further, false);
  return page;
}

/// Whether a file says more of a command, whose page is made already.
bool is_of_command(const fs::path& file, const std::vector<Command>& commands) {
  return std::ranges::any_of(commands, [&](const Command& command) {
    return file.filename() == "vergeset-" + command.name + ".1.md";
  });
}

Result<std::vector<Page>> all_pages(const std::vector<Command>& commands, const PageJob& job) {
  std::vector<Page> pages;
  for (const Command& command : commands) {
    auto page = page_of(command, job);
    if (!page) return Problem{page.problem()};
    pages.push_back(*std::move(page));
  }
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(job.source + "/src/cli/pages"))
    files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  for (const fs::path& file : files) {
    if (file.extension() != ".md" || is_of_command(file, commands)) continue;
    auto page = page_of(file, job, commands);
    if (!page) return Problem{page.problem()};
    pages.push_back(*std::move(page));
  }
  return pages;
}

/// Pages are found from each other: those of files, and vergeset(1).
std::string see_also(const Page& page, const std::vector<Page>& pages) {
  std::string out;
  for (const Page& other : pages) {
    const bool shown = other.name == "vergeset" || other.name == "roadside-sim" || other.section == "5";
    if (!shown || other.name == page.name) continue;
    out += (out.empty() ? "" : ",\n") + report::roff_bold(other.name) + "(" + other.section + ")";
  }
  return ".SH \"SEE ALSO\"\n" + out + "\n";
}

std::string upper(std::string text) {
  std::ranges::transform(text, text.begin(),
                         [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return text;
}

std::string page_text(const Page& page, const std::vector<Page>& pages, const PageJob& job,
                      const std::string& status) {
  std::string text = fmt::format(".TH {} {} {} \"vergeset {}\" \"Roadside units\"\n", upper(page.name),
                                 page.section, job.date, VERGESET_VERSION);
  text += fmt::format(".SH NAME\n{} \\- {}\n", page.name, report::roff_text(page.about)) + page.body;
  if (page.section == "1" && page.name != "roadside-sim")
    text += ".SH \"EXIT STATUS\"\n" + report::roff_of_markdown(status, true);
  return text + see_also(page, pages);
}

}  // namespace

int write_pages(const std::vector<Command>& commands, const PageJob& job) {
  const auto pages = all_pages(commands, job);
  if (!pages) return complain(pages.problem());
  const auto status = taken_from_elsewhere(job, "{README.md > Exit status}");
  if (!status) return complain(status.problem());
  for (const Page& page : *pages) {
    const std::string folder = job.out + "/man" + page.section;
    fs::create_directories(folder);
    const std::string path = folder + "/" + page.name + "." + page.section;
    std::ofstream file(path, std::ios::binary | std::ios::trunc);
    file << page_text(page, *pages, job, *status);
    file.close();
    if (!file) return complain("cannot write " + path);
  }
  return Exit::done;
}

}  // namespace vergeset::cli
