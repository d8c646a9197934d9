#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/kept.h"
#include "cli/print.h"
#include "records/change_record.h"
#include "report/json.h"
#include "smi/suggest.h"

namespace vergeset::cli {

namespace {

struct ChangesOptions {
  Common common;
  std::string show;
  std::string number;
  bool full = false;
};

int list_changes(const ChangesOptions& options, const records::FolderDisk& disk) {
  const auto changes = records::all_changes(disk);
  for (const std::string& damaged : damaged_changes(disk)) print_aside("note: " + damaged + "\n");
  if (options.common.json) {
    report::Json document = report::document("changes");
    document["changes"] = report::changes_json(changes);
    print(report::dump(document));
  } else if (changes.empty()) {
    print("no changes in " + disk.root() + "\n");
  } else {
    print(report::changes_text(screen_here(), changes));
  }
  for (const records::ChangeRecord& change : changes) {
    if (!change.ended.empty()) continue;
    print_aside("note: change " + records::change_name(change.number) + " " + report::unfinished_words() +
                "\n");
  }
  return Exit::done;
}

int show_change(const ChangesOptions& options, const records::FolderDisk& disk) {
  const auto change = change_numbered(disk, options.number);
  if (!change) return complain(change.problem());
  if (options.common.json) {
    report::Json document = report::document("changes show");
    document.update(report::change_json(*change));
    print(report::dump(document));
  } else {
    report::Screen screen = screen_here();
    screen.full = options.full;
    print(report::change_text(screen, *change));
  }
  return Exit::done;
}

int changes(const ChangesOptions& options) {
  if (const std::string why = no_records(options.common); !why.empty()) return complain(why);
  const records::FolderDisk disk(options.common.records_folder());
  if (options.show.empty()) return list_changes(options, disk);
  if (options.show != "show") {
    return complain("expected show, found " + options.show + smi::suggestion(options.show, {"show"}));
  }
  if (options.number.empty()) return complain("changes show needs the number of a change");
  return show_change(options, disk);
}

}  // namespace

Command changes_command() {
  const auto options = std::make_shared<ChangesOptions>();
  return {"changes",
          "Lists all changes, or shows who did what to which unit in one.",
          {{"",
            {{"show", "", "one change", &options->show},
             {"NUMBER", "", "its number", &options->number},
             {"--full", "", "also every file with its SHA-256", &options->full}}},
           section_of(options->common)},
          "vergeset changes show 42",
          [options] { return changes(*options); }};
}

}  // namespace vergeset::cli
