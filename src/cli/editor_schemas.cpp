#include "cli/editor_schemas.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>

#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/print.h"
#include "records/disk.h"
#include "report/editor_names.h"
#include "report/json.h"
#include "report/words.h"
#include "smi/inert.h"

namespace vergeset::cli {

namespace {

namespace fs = std::filesystem;

constexpr const char* names_file = "names.json";

using Texts = std::map<std::string, std::string>;

/// The hand-written schemas of vergeset's own folder.
Result<Texts> written_by_hand() {
  const std::string folder = schemas_folder() + "/json";
  Texts texts;
  std::error_code error;
  for (fs::directory_iterator at(folder, error); !error && at != fs::directory_iterator();
       at.increment(error)) {
    const std::string name = at->path().filename().string();
    if (at->path().extension() != ".json" || name == names_file) continue;
    auto text = read_file(at->path().string());
    if (!text) return Problem{text.problem()};
    texts[name] = *std::move(text);
  }
  if (error) return Problem{fmt::format("cannot read {}: {}", folder, error.message())};
  if (texts.empty()) return Problem{folder + " holds no schemas; name the folder of vergeset's own"};
  return texts;
}

/// Why the folder is not to be written to; empty where it is.
std::string holds_other_files(const std::string& out) {
  std::error_code error;
  if (!fs::exists(fs::symlink_status(out, error))) return {};
  if (!fs::is_directory(out, error)) return out + " is there already and is no folder";
  if (fs::is_empty(out, error) || fs::exists(out + "/" + names_file, error)) return {};
  return out + " holds other files; name a folder for the schemas alone";
}

/// Empty, or why the folder of a fleet that was named is none.
std::string no_fleet(const std::string& folder) {
  std::error_code error;
  if (folder.empty() || fs::exists(folder + "/fleet.yaml", error)) return {};
  return "no fleet.yaml in " + folder + "; give the fleet's folder with --fleet DIR";
}

std::string own_models(const std::string& fleet) {
  const std::string folder = (fleet.empty() ? "." : fleet) + "/models";
  std::error_code error;
  const bool of_fleet = fs::exists((fleet.empty() ? "." : fleet) + "/fleet.yaml", error);
  return of_fleet && fs::is_directory(folder, error) ? folder : "";
}

/// Where the schemas are as a file of the fleet's folder names them: beside it, or by a whole path.
std::string seen_from_fleet(const EditorSchemas& options) {
  std::error_code error;
  fs::path out = fs::absolute(options.out, error).lexically_normal();
  if (!out.has_filename()) out = out.parent_path();
  const fs::path fleet = fs::absolute(options.fleet.empty() ? "." : options.fleet, error).lexically_normal();
  const fs::path beside = out.lexically_proximate(fleet);
  return (beside.empty() || *beside.begin() == ".." ? out : beside).string();
}

/// What stands at the top of a file for the editors that go by it.
std::string first_lines(const EditorSchemas& options) {
  const std::string folder = seen_from_fleet(options);
  const char* const up = folder.front() == '/' ? "" : "../";
  std::string text = "\nNext: let an editor know. Most go by a first line in the file itself:\n";
  const auto line = [&](const char* file, const char* above, const char* schema) {
    text += fmt::format("  {:<20}# yaml-language-server: $schema={}{}/{}\n", file, above, smi::inert(folder),
                        schema);
  };
  line("fleet.yaml", "", "fleet.json");
  line("units.yaml", "", "units.json");
  line("groups/*.yaml", up, "group.json");
  line("models/*.yaml", up, "model.json");
  line("models/common.yaml", up, "common.json");
  return text;
}

void tell(const EditorSchemas& options, const schema::Schema& schema, const Texts& texts) {
  if (options.json) {
    report::Json document = report::document("model schemas");
    document["out"] = options.out;
    document["files"] = report::Json::array();
    for (const auto& [name, text] : texts) document["files"].push_back(name);
    document["models"] = report::Json::array();
    for (const auto& [name, model] : schema.models) document["models"].push_back(name);
    return print(report::dump(document));
  }
  std::string models;
  for (const auto& [name, model] : schema.models) models += (models.empty() ? "" : ", ") + smi::inert(name);
  print(fmt::format("{} in {}, with the names of {}\n", report::counted(texts.size(), "schema"),
                    smi::inert(options.out), models));
  print(first_lines(options));
}

}  // namespace

int write_editor_schemas(const EditorSchemas& options) {
  if (options.out.empty()) return complain("model schemas needs a folder to write to: --out DIR");
  if (const std::string why = no_fleet(options.fleet); !why.empty()) return complain(why);
  if (const std::string why = holds_other_files(options.out); !why.empty()) return complain(why);
  auto texts = written_by_hand();
  if (!texts) return complain(texts.problem());
  Faults faults;
  const schema::Schema schema = schema::load_schema(schemas_folder(), own_models(options.fleet), faults);
  if (faults.any()) {
    print_aside(report::faults_text(faults));
    return complain("no schemas are made of models with faults");
  }
  Texts files = *std::move(texts);
  files[names_file] = report::in_lines(report::editor_names(schema));
  try {
    records::FolderDisk disk(options.out);
    for (const auto& [name, text] : files) {
      if (disk.read(name) != text) disk.write_whole(name, text);
    }
  } catch (const records::DiskError& problem) {
    return complain(problem.what());
  }
  tell(options, schema, files);
  return Exit::done;
}

}  // namespace vergeset::cli
