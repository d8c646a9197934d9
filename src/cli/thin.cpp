#include <fmt/format.h>
#include <unistd.h>

#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/kept.h"
#include "cli/load.h"
#include "cli/part_audits.h"
#include "cli/print.h"
#include "records/clock.h"
#include "records/lock.h"
#include "records/thinning.h"
#include "report/json.h"
#include "report/words.h"

namespace vergeset::cli {

namespace {

struct ThinOptions {
  Common common;
  bool dry_run = false;
  std::string until;
};

records::Ages ages_of(const fleet::Keep& keep) {
  return {keep.audits, keep.nights, keep.snapshots, keep.logs};
}

bool for_ever(const fleet::Keep& keep) {
  return !keep.audits && !keep.nights && !keep.snapshots && !keep.logs;
}

std::string size_text(std::uint64_t octets) {
  if (octets < 10000) return fmt::format("{} octets", octets);
  return octets < 10000000 ? fmt::format("{} kB", octets / 1000) : fmt::format("{} MB", octets / 1000000);
}

std::string text_of(const records::Thinned& done, bool dry_run) {
  if (done.nothing()) return "nothing is old enough\n";
  const auto line = [](std::size_t number, const std::string& what, const std::string& how) {
    return number == 0 ? "" : fmt::format("{} {}\n", report::counted(number, what), how);
  };
  return line(done.audits_cut, "audit", "cut to how each unit stood") +
         line(done.audits_gone, "audit", "removed") +
         line(done.changes, "change", "without snapshots from now on: no rollback") +
         line(done.logs, "unit log", "shortened") +
         fmt::format("{}{}\n", size_text(done.octets),
                     dry_run ? " would be free; nothing was done" : " freed");
}

report::Json json_of(const ThinOptions& options, const records::Thinned& done) {
  report::Json document = report::document("thin");
  document["dry_run"] = options.dry_run;
  document["audits_cut"] = done.audits_cut;
  document["audits_removed"] = done.audits_gone;
  document["changes_without_snapshots"] = done.changes;
  document["logs_shortened"] = done.logs;
  document["octets"] = done.octets;
  document["left"] = done.left;
  return document;
}

int thin(const ThinOptions& options) {
  const auto now =
      options.until.empty() ? std::optional(records::SystemClock().now()) : time_given(options.until);
  if (!now)
    return complain("--until: expected a time in UTC as in 2026-11-25T06:00Z, found " + options.until);
  if (const std::string why = no_records(options.common); !why.empty()) return complain(why);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  if (for_ever(fleet->keep) && !options.common.json)
    print_aside("note: fleet.yaml says no keep:, so all records stay for ever\n");
  const std::string folder = options.common.records_folder();
  const auto lock = records::Lock::take(
      folder, {who_am_i(), "thin", records::stamp(records::SystemClock().now()), getpid()});
  if (!lock) {
    complain(lock.problem());
    return Exit::trouble;
  }
  records::FolderDisk disk(folder);
  const records::Thinned done = records::thin(disk, ages_of(fleet->keep), *now, !options.dry_run);
  for (const std::string& one : done.left) print_aside("note: left as it is: " + one + "\n");
  print(options.common.json ? report::dump(json_of(options, done)) : text_of(done, options.dry_run));
  return Exit::done;
}

}  // namespace

Command thin_command() {
  const auto options = std::make_shared<ThinOptions>();
  return {"thin",
          "Thins records by age, as keep: of fleet.yaml says.",
          {{"",
            {{"--dry-run", "", "say what would go, and write nothing", &options->dry_run},
             {"--until", "TIME", "as if it were then (UTC: 2026-11-25T06:00Z)", &options->until}}},
           section_of(options->common)},
          "vergeset thin --dry-run",
          [options] { return thin(*options); }};
}

}  // namespace vergeset::cli
