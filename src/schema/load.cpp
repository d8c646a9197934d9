#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "schema/common.h"
#include "schema/draft.h"
#include "smi/suggest.h"

namespace vergeset::schema {

namespace {

namespace fs = std::filesystem;

/// The files of both folders by what they are. A base stands before what builds on it.
struct Files {
  std::vector<std::unique_ptr<YamlFile>> open;
  Entry system;
  std::vector<Entry> common;
  std::map<std::string, Entry> models;
  std::map<std::string, std::string> bases;
  std::vector<std::string> order;
};

std::vector<fs::path> yaml_files(const std::string& folder, Faults& faults) {
  std::vector<fs::path> paths;
  std::error_code error;
  for (fs::directory_iterator at(folder, error); !error && at != fs::directory_iterator();
       at.increment(error)) {
    const bool hidden = at->path().filename().string().front() == '.';
    if (!hidden && at->path().extension() == ".yaml") paths.push_back(at->path());
  }
  if (error) faults.add({folder, 0, 0}, "this folder of model files cannot be read: " + error.message());
  std::sort(paths.begin(), paths.end());
  return paths;
}

void sort_model(const Entry& root, Files& files) {
  const Entry key = root.at("model");
  const std::string name = key.text("the name of the model");
  if (name.empty()) return;
  if (name == "system") {
    if (files.system) {
      key.fault("the model system is vergeset's own, at " + files.system.at("model").place().str());
    } else {
      files.system = root;
    }
    return;
  }
  const auto [at, fresh] = files.models.try_emplace(name, root);
  if (!fresh) {
    key.fault(fmt::format("there is a model {} already, at {}", name, at->second.at("model").place().str()));
  }
}

void open_folder(const std::string& folder, Files& files, Faults& faults) {
  const std::string shown = fs::path(folder + "/").lexically_normal().parent_path().filename().string();
  for (const fs::path& path : yaml_files(folder, faults)) {
    const std::string name = path.filename().string();
    files.open.push_back(
        std::make_unique<YamlFile>(path.string(), fmt::format("{}/{}", shown, name), faults));
    const Entry root = files.open.back()->root();
    if (root.is_nothing()) continue;
    if (!root.is_map()) {
      root.fault("a map is expected: a model with `model:`, or the common settings");
    } else if (name == "common.yaml") {
      files.common.push_back(root);
    } else if (root.at("model")) {
      sort_model(root, files);
    } else {
      root.fault("`model:` is missing; common settings stand in common.yaml");
    }
  }
}

/// Puts a model behind the one that it is based on. Nothing for one that builds on itself or on
/// what is not there.
bool place_model(const std::string& name, Files& files, std::set<std::string>& above) {
  if (std::find(files.order.begin(), files.order.end(), name) != files.order.end()) return true;
  const Entry based_on = files.models.at(name).at("based-on");
  if (based_on) {
    const std::string base = based_on.text("the name of a model");
    if (!based_on.is_text()) return false;
    if (files.models.count(base) == 0) {
      std::vector<std::string> known;
      for (const auto& [other, root] : files.models) known.push_back(other);
      based_on.fault(fmt::format("no model {} is known{}", base, smi::suggestion(base, known)));
      return false;
    }
    above.insert(name);
    if (above.count(base) != 0) {
      based_on.fault(name + " is based on itself");
      return false;
    }
    if (!place_model(base, files, above)) return false;
    files.bases[name] = base;
  }
  files.order.push_back(name);
  return true;
}

void order_models(Files& files) {
  for (const auto& [name, root] : files.models) {
    std::set<std::string> above;
    place_model(name, files, above);
  }
}

/// The files of a model, weakest first.
std::vector<Entry> chain_of(const std::string& name, const Files& files) {
  std::vector<Entry> chain;
  std::string at = name;
  while (true) {
    chain.push_back(files.models.at(at));
    const auto base = files.bases.find(at);
    if (base == files.bases.end()) break;
    at = base->second;
  }
  if (files.system) chain.push_back(files.system);
  std::reverse(chain.begin(), chain.end());
  return chain;
}

std::unique_ptr<Model> read_model(const std::string& name, const Files& files) {
  auto model = std::make_unique<Model>();
  const Entry file = files.models.at(name);
  model->name = name;
  const Entry title = file.at("title");
  model->title = title ? title.text("the title of the model") : name;
  Draft draft;
  draft.model = model.get();
  for (const Entry& part : chain_of(name, files)) read_file(part, draft);
  finish_tables(draft);
  finish_rules(draft, file);
  return model;
}

}  // namespace

Schema load_schema(const std::string& folder, const std::string& own, Faults& faults) {
  Files files;
  open_folder(folder, files, faults);
  if (!files.system)
    faults.add({folder, 0, 0}, "system.yaml is missing; name the folder `schemas` of vergeset");
  std::error_code error;
  if (!own.empty() && fs::exists(own, error)) open_folder(own, files, faults);
  order_models(files);

  Schema schema;
  for (const std::string& name : files.order) schema.models[name] = read_model(name, files);
  CommonReader common(schema);
  for (const Entry& file : files.common) {
    common.read(file);
    for (const std::string& name : files.order) {
      const auto base = files.bases.find(name);
      if (base != files.bases.end()) common.inherit(*schema.models[base->second], *schema.models[name]);
    }
  }
  name_objects(schema);
  return schema;
}

}  // namespace vergeset::schema
