#include <fmt/format.h>

#include <functional>
#include <memory>
#include <sstream>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/kept.h"
#include "cli/load.h"
#include "cli/part_audits.h"
#include "cli/print.h"
#include "cli/standing_read.h"
#include "cli/written_file.h"
#include "records/clock.h"
#include "report/json.h"
#include "report/junit.h"
#include "report/metrics.h"
#include "report/night_summary.h"
#include "report/page.h"
#include "report/words.h"
#include "report/wrap.h"

namespace vergeset::cli {

namespace {

struct ReportOptions {
  Common common;
  fleet::Choice choice;
  std::string page;
  std::string metrics;
  std::string junit;
  bool summary = false;
  std::size_t nights = 92;
  std::string until;

  bool nothing_else() const { return metrics.empty() && junit.empty() && !summary && !common.json; }
};

/// Empty, or why a file could not be written. Nothing is written where none was asked for.
std::string write(const std::string& path, Readers readers, const std::function<std::string()>& text) {
  return path.empty() ? "" : write_file(path, text(), readers);
}

std::string write_files(const ReportOptions& options, const std::string& page,
                        const report::Standing& standing) {
  std::string why = write(page, Readers::owner, [&] { return report::page(standing); });
  if (why.empty()) why = write(options.junit, Readers::owner, [&] { return report::junit(standing); });
  if (why.empty()) why = write(options.metrics, Readers::anybody, [&] { return report::metrics(standing); });
  return why;
}

/// A mail has five lines, however long; a terminal breaks them between words.
std::string as_shown_here(const std::string& lines) {
  const report::Screen screen = screen_here();
  if (!screen.break_words) return lines;
  std::string out;
  std::istringstream in(lines);
  for (std::string line; std::getline(in, line);) out += report::paragraph(screen, line);
  return out;
}

void say(const ReportOptions& options, const std::string& page, const report::Standing& standing) {
  if (options.common.json) return print(report::dump(report::standing_json(standing)));
  if (options.summary) return print(as_shown_here(report::night_summary(standing)));
  for (const std::string& path : {page, options.metrics, options.junit}) {
    if (path.empty()) continue;
    print(fmt::format("{}: {}, {}\n", path, report::counted(standing.units.size(), "unit"),
                      report::counted(options.nights, "night")));
  }
}

int report(const ReportOptions& options) {
  constexpr std::size_t most_nights = 1100;  // three years
  if (options.nights > most_nights)
    return complain(fmt::format("--nights: {} is the most, found {}", most_nights, options.nights));
  const auto until =
      options.until.empty() ? std::optional(records::SystemClock().now()) : time_given(options.until);
  if (!until)
    return complain("--until: expected a time in UTC as in 2026-11-25T06:00Z, found " + options.until);
  if (const std::string why = no_records(options.common); !why.empty()) return complain(why);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const auto units = chosen(*fleet, options.choice);
  if (!units) return complain(units.problem());
  const records::FolderDisk disk(options.common.records_folder());
  const report::Standing standing = read_standing(disk, *fleet, *units, options.nights, *until);
  const std::string page = options.page.empty() && options.nothing_else() ? "report.html" : options.page;
  if (const std::string why = write_files(options, page, standing); !why.empty()) return complain(why);
  say(options, page, standing);
  return Exit::done;
}

}  // namespace

Command report_command() {
  const auto options = std::make_shared<ReportOptions>();
  return {"report",
          "Where the fleet stands, from its records: a page, figures, news.",
          {{"",
            {{"--page", "FILE", "one HTML file (default: report.html, if nothing else)", &options->page},
             {"--metrics", "FILE", "OpenMetrics text, for a scraper's file collector", &options->metrics},
             {"--junit", "FILE", "the newest audit as JUnit XML, for build servers", &options->junit},
             {"--summary", "", "what changed since the night before, in five lines", &options->summary},
             {"--nights", "N", "how far back the page goes (92)", &options->nights},
             {"--until", "TIME", "nothing later than that (UTC: 2026-11-25T06:00Z)", &options->until}}},
           section_of(options->choice),
           section_of(options->common)},
          "vergeset report --page larkmoor.html",
          [options] { return report(*options); }};
}

}  // namespace vergeset::cli
