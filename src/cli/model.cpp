#include <fcntl.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <stdlib.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <memory>

#include "cli/common.h"
#include "cli/editor_schemas.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/print.h"
#include "report/fleet_text.h"
#include "report/json.h"
#include "report/words.h"
#include "schema/model_text.h"
#include "smi/inert.h"
#include "smi/suggest.h"
#include "smi/words.h"
#include "snmp/mib_file.h"

namespace vergeset::cli {

namespace {

struct ModelOptions {
  std::string what;
  std::vector<std::string> files;
  std::string root;
  std::string name;
  std::string base;
  std::string out;
  std::string fleet;
  bool json = false;
};

/// A folder of this process alone, gone with it.
class LoneFolder {
 public:
  LoneFolder() : path_((std::filesystem::temp_directory_path() / "vergeset-model-XXXXXX").string()) {
    made_ = ::mkdtemp(path_.data()) != nullptr;
  }
  ~LoneFolder() {
    std::error_code error;
    if (made_) std::filesystem::remove_all(path_, error);
  }
  LoneFolder(const LoneFolder&) = delete;
  LoneFolder& operator=(const LoneFolder&) = delete;
  bool made() const { return made_; }
  const std::string& path() const { return path_; }

 private:
  std::string path_;
  bool made_ = false;
};

/// What the loader of a fleet's models/ finds wrong with a model file; empty where nothing is.
std::string why_not_loaded(const schema::ModelText& model) {
  const LoneFolder folder;
  if (!folder.made()) return "cannot make a folder to try the model file in\n";
  std::ofstream(folder.path() + "/model.yaml", std::ios::binary) << model.text;
  Faults faults;
  schema::load_schema(schemas_folder(), folder.path(), faults);
  return faults.any() ? report::faults_text(faults) : "";
}

int refuse(const smi::Mib& mib) {
  for (const smi::MibFault& fault : mib.faults) {
    const std::string place = fault.line > 0 ? fmt::format("{}:{}", fault.file, fault.line) : fault.file;
    print_aside(smi::inert(place + ": " + fault.text) + "\n");
  }
  return complain("no model file is made of a MIB that was not read whole");
}

/// Never over a file that is there: someone may have reviewed it.
std::string why_not_written(const std::string& path, const std::string& text) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (file < 0 && errno == EEXIST) return path + " is there already; name another file";
  if (file < 0) return fmt::format("cannot write {}: {}", path, std::strerror(errno));
  std::size_t at = 0;
  ssize_t count = 0;
  for (; at < text.size() && count >= 0; at += static_cast<std::size_t>(count)) {
    count = ::write(file, text.data() + at, text.size() - at);
    if (count < 0 && errno == EINTR) count = 0;
    if (count < 0) break;
  }
  const int error = errno;
  const bool closed = ::close(file) == 0;
  if (count >= 0 && closed) return {};
  ::unlink(path.c_str());
  return fmt::format("cannot write {}: {}", path, std::strerror(error));
}

std::size_t reviews_in(const std::string& text) {
  std::size_t count = 0;
  for (std::size_t at = text.find("# review: "); at != text.npos; at = text.find("# review: ", at + 1))
    ++count;
  return count;
}

/// What was made, for a person; beside the model file, or in its place where that went into a file.
void tell_model(const ModelOptions& options, const schema::ModelText& model, const smi::Mib& mib) {
  for (const std::string& note : mib.notes) print_aside("note: " + smi::inert(note) + "\n");
  for (const schema::LeftOut& left : model.parts.left_out)
    print_aside(fmt::format("left out: {}: {}\n", smi::inert(left.name), smi::inert(left.why)));
  const std::string told = report::counted(model.parts.notifications.size(), "notification");
  if (!options.base.empty())
    return print_aside(
        fmt::format("model {}, based on {}: {}\n", smi::inert(model.name), options.base, told));
  print_aside(fmt::format("model {}: {}, {} with {}{}; {} to review\n", smi::inert(model.name),
                          report::counted(model.parts.scalars.size(), "scalar"),
                          report::counted(model.parts.tables.size(), "table"),
                          report::counted(model.parts.columns(), "column"),
                          model.parts.notifications.empty() ? "" : ", " + told,
                          report::counted(reviews_in(model.text), "place")));
}

void print_json(const schema::ModelText& model, const smi::Mib& mib) {
  report::Json document = report::document("model from-mib");
  document["model"] = model.name;
  document["modules"] = mib.modules;
  document["scalars"] = model.parts.scalars.size();
  document["tables"] = model.parts.tables.size();
  document["columns"] = model.parts.columns();
  document["notifications"] = model.parts.notifications.size();
  document["to_review"] = reviews_in(model.text);
  document["left_out"] = report::Json::array();
  for (const schema::LeftOut& left : model.parts.left_out)
    document["left_out"].push_back({{"object", left.name}, {"oid", left.oid.str()}, {"why", left.why}});
  document["notes"] = mib.notes;
  document["text"] = model.text;
  print(report::dump(document));
}

std::string listed(const std::vector<std::string>& files) {
  std::string text;
  for (const std::string& file : files)
    text += (text.empty() ? "" : ", ") + std::filesystem::path(file).filename().string();
  return text;
}

/// A whole model, or one that adds notifications to one of those that come with the program.
Result<schema::ModelText> made_of(const smi::Mib& mib, const ModelOptions& options) {
  const schema::ModelWish wish{options.name, options.root, listed(options.files)};
  if (options.base.empty()) return schema::model_text(mib, wish);
  Faults faults;
  const schema::Schema known = schema::load_schema(schemas_folder(), "", faults);
  if (faults.any()) return Problem{"the models cannot be read\n" + report::faults_text(faults)};
  if (const schema::Model* const base = known.model(options.base))
    return schema::based_model_text(mib, wish, *base);
  std::vector<std::string> names;
  for (const auto& [name, model] : known.models) names.push_back(name);
  return Problem{fmt::format("no model {} to be based on; these are known: {}{}", smi::shown(options.base),
                             fmt::join(names, ", "), smi::suggestion(options.base, names))};
}

int from_mib(const ModelOptions& options) {
  snmp::MibFiles wanted;
  wanted.files = options.files;
  wanted.folders = snmp::usual_mib_folders();
  wanted.folders.insert(wanted.folders.begin(), schemas_folder() + "/mibs");
  const auto mib = snmp::read_mib_files(wanted);
  if (!mib) return complain(mib.problem());
  if (!mib->faults.empty()) return refuse(*mib);
  const auto model = made_of(*mib, options);
  if (!model) return complain(model.problem());
  if (const std::string why = why_not_loaded(*model); !why.empty()) {
    print_aside(why);
    return complain("the model file would not load; another name may help (--name), or a part (--root)");
  }
  if (!options.out.empty()) {
    if (const std::string why = why_not_written(options.out, model->text); !why.empty()) return complain(why);
  }
  if (options.json) {
    print_json(*model, *mib);
    return Exit::done;
  }
  if (options.out.empty()) print(model->text);
  tell_model(options, *model, *mib);
  return Exit::done;
}

int model(const ModelOptions& options) {
  if (options.what == "schemas") {
    const bool of_mibs =
        !options.files.empty() || !options.root.empty() || !options.name.empty() || !options.base.empty();
    if (of_mibs) return complain("model schemas takes --fleet and --out alone");
    return write_editor_schemas({options.fleet, options.out, options.json});
  }
  if (options.what != "from-mib")
    return complain("expected from-mib or schemas, found " + options.what +
                    smi::suggestion(options.what, {"from-mib", "schemas"}));
  if (!options.fleet.empty()) return complain("model from-mib goes by its files alone, not by a fleet");
  if (options.files.empty()) return complain("model from-mib needs the file of a MIB");
  return from_mib(options);
}

}  // namespace

Command model_command() {
  const auto options = std::make_shared<ModelOptions>();
  return {"model",
          "Makes a model file of MIB files; what editors check files by.",
          {{"",
            {{"WHAT", "", "from-mib, of SMIv1 or SMIv2 modules; schemas, for editors", &options->what, true},
             {"FILE", "", "their files; imports are looked for beside them", &options->files},
             {"--root", "NODE", "only what stands below this name or identifier", &options->root},
             {"--name", "NAME", "the model's name (default: the module's)", &options->name},
             {"--based-on", "M", "only the notifications, added to this model", &options->base},
             {"--out", "FILE", "write it there (default: print it); the schemas' folder", &options->out},
             {"--fleet", "DIR", "schemas: with the fleet's own models (default: here)", &options->fleet},
             {"--json", "", "one JSON document instead of text", &options->json}}}},
          "vergeset model from-mib LARKMOOR-MIB.txt --out models/mk3.yaml",
          [options] { return model(*options); }};
}

}  // namespace vergeset::cli
