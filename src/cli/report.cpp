#include <fmt/format.h>

#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/kept.h"
#include "cli/load.h"
#include "cli/print.h"
#include "cli/standing_read.h"
#include "cli/written_file.h"
#include "records/clock.h"
#include "report/json.h"
#include "report/page.h"
#include "report/words.h"

namespace vergeset::cli {

namespace {

struct ReportOptions {
  Common common;
  fleet::Choice choice;
  std::string page;
  std::size_t nights = 92;
};

int report(const ReportOptions& options) {
  constexpr std::size_t most_nights = 1100;  // three years
  if (options.nights > most_nights)
    return complain(fmt::format("--nights: {} is the most, found {}", most_nights, options.nights));
  if (const std::string why = no_records(options.common); !why.empty()) return complain(why);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const auto units = chosen(*fleet, options.choice);
  if (!units) return complain(units.problem());
  const records::FolderDisk disk(options.common.records_folder());
  const report::Standing standing =
      read_standing(disk, *fleet, *units, options.nights, records::SystemClock().now());
  const std::string page = options.page.empty() ? "report.html" : options.page;
  if (const std::string why = write_file(page, report::page(standing), Readers::owner); !why.empty())
    return complain(why);
  print(fmt::format("{}: {}, {}\n", page, report::counted(standing.units.size(), "unit"),
                    report::counted(options.nights, "night")));
  return Exit::done;
}

}  // namespace

Command report_command() {
  const auto options = std::make_shared<ReportOptions>();
  return {"report",
          "Shows from the records where the fleet stands, as a page.",
          {{"",
            {{"--page", "FILE", "the page, one HTML file (report.html)", &options->page},
             {"--nights", "N", "how far back it goes (92)", &options->nights}}},
           section_of(options->choice),
           section_of(options->common)},
          "vergeset report --page larkmoor.html",
          [options] { return report(*options); }};
}

}  // namespace vergeset::cli
