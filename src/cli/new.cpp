#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <memory>

#include "cli/command.h"
#include "cli/exit_status.h"
#include "cli/first_fleet.h"
#include "cli/print.h"
#include "records/disk.h"
#include "report/json.h"
#include "smi/inert.h"

namespace vergeset::cli {

namespace {

namespace fs = std::filesystem;

/// "~/fleets/larkmoor/" is "~/fleets/larkmoor".
fs::path plain(const std::string& folder) {
  fs::path path = fs::path(folder).lexically_normal();
  return path.has_filename() || !path.has_parent_path() ? path : path.parent_path();
}

/// Why no fleet can be made there; empty where one can.
std::string taken(const fs::path& folder) {
  std::error_code error;
  const auto status = fs::symlink_status(folder, error);
  if (!fs::exists(status)) return {};
  const std::string name = folder.string();
  if (!fs::is_directory(folder, error)) return name + " is there already and is no folder";
  const bool empty = fs::is_empty(folder, error);
  if (error) return fmt::format("cannot read {}: {}", name, error.message());
  return empty ? "" : name + " is not empty; a new fleet is made in a folder of its own";
}

/// Takes away what `fill` wrote, as far as it came.
void empty_again(const fs::path& folder) {
  std::error_code error;
  for (const FirstFile& file : first_fleet) {
    fs::remove(folder / file.name, error);
    const fs::path above = fs::path(file.name).parent_path();
    if (!above.empty()) fs::remove(folder / above, error);
  }
}

/// Writes the files into a folder without any, fleet.yaml last; throws DiskError with nothing of them left.
void fill(const fs::path& folder) {
  try {
    records::FolderDisk disk(folder.string());
    for (const FirstFile& file : first_fleet) {
      disk.write_whole(std::string(file.name), file.text, records::Durable::whole);
    }
  } catch (const records::DiskError&) {
    empty_again(folder);
    throw;
  }
}

/// A folder that is not there appears with all files in it. One that is there keeps its place (somebody's
/// shell may be in it), and is a fleet once fleet.yaml is there.
void make_fleet(const fs::path& folder) {
  std::error_code error;
  if (fs::exists(folder, error)) return fill(folder);
  const fs::path part = folder.string() + fmt::format(".{}.new", ::getpid());
  fill(part);
  // A folder that appeared meanwhile is replaced where it is empty, and refused otherwise.
  if (::rename(part.c_str(), folder.c_str()) == 0) return;
  const int why = errno;
  empty_again(part);
  fs::remove(part, error);
  throw records::DiskError(fmt::format("cannot make {}: {}", folder.string(), std::strerror(why)));
}

std::string what_next(const std::string& folder) {
  std::string text = fmt::format("A fleet with one unit is in {}:\n", folder);
  text += "  fleet.yaml        who you are to the units, waves, settings of all\n";
  text += "  units.yaml        the units and their site records\n";
  text += "  groups/all.yaml   what the units of a group share\n";
  text += "  .gitignore        keeps keys, secrets and records out of version control\n";
  text += "\nNext:\n";
  text += fmt::format("  cd {}\n", folder);
  text += "  export FIRST_AUTH='...' FIRST_PRIV='...'     the secrets of its user\n";
  text += "  roadside-sim --fleet . --seconds 600 &       stands in for the unit\n";
  text += "  vergeset check\n";
  text += "  vergeset apply --dry-run\n";
  return text;
}

struct New {
  std::string folder;
  bool json = false;
};

int make_new(const New& options) {
  const fs::path folder = plain(options.folder);
  if (folder.empty()) return complain("name a folder for the new fleet");
  if (const std::string why = taken(folder); !why.empty()) return complain(why);
  try {
    make_fleet(folder);
  } catch (const records::DiskError& problem) {
    return complain(problem.what());
  }
  if (!options.json) {
    print(smi::inert_lines(what_next(folder.string())));
    return Exit::done;
  }
  report::Json document = report::document("new");
  document["folder"] = folder.string();
  document["files"] = report::Json::array();
  for (const FirstFile& file : first_fleet) document["files"].push_back(std::string(file.name));
  print(report::dump(document));
  return Exit::done;
}

}  // namespace

Command new_command() {
  const auto options = std::make_shared<New>();
  return {"new",
          "Makes a first fleet with one unit, commented, ready to edit.",
          {{"",
            {{"DIR", "", "its folder: a new or an empty one", &options->folder, true},
             {"--json", "", "one JSON document instead of text", &options->json}}}},
          "vergeset new larkmoor",
          [options] { return make_new(*options); }};
}

}  // namespace vergeset::cli
