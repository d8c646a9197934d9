#include "fleet/resolve.h"

#include <algorithm>

#include "fleet/meaning.h"

namespace vergeset::fleet {

namespace {

std::vector<Source> sources_of(const std::vector<Ranked>& layers, const std::string& model) {
  std::vector<Source> sources;
  int file = 0;
  for (const Ranked& ranked : layers) {
    sources.push_back({&ranked.layer->plain, &ranked.layer->name, ranked.level, file});
    const Block* const only = ranked.layer->only_for(model);
    if (only != nullptr) sources.push_back({only, &ranked.layer->name, ranked.level, file});
    ++file;
  }
  return sources;
}

/// The asks of all sources, by what they come to on the unit's model.
struct Sorted {
  std::map<std::string, std::vector<Ask>> by_object;
  std::map<std::string, Missing> missing;
};

void admit(const Reading& reading, const Ask& ask, Sorted& sorted) {
  const schema::Object& object = *ask.meaning.object;
  const std::string bar = bar_to(object);
  if (bar.empty()) {
    add_ask(reading, sorted.by_object[object.name], ask);
  } else {
    reading.fault(ask.written->name_place, ask.written->name + " " + bar + ": it cannot be asked for");
  }
}

void sort_own(const Reading& reading, const Ask& ask, Sorted& sorted) {
  const Written& written = *ask.written;
  const schema::Object* const object = reading.unit.model->object(written.name);
  if (object == nullptr) {
    reading.fault(written.name_place, reading.unit.model->name + " has no " + written.name +
                                          "; put it under only: for " +
                                          reading.names.models_with(written.name));
    return;
  }
  Ask whole = ask;
  whole.meaning.object = object;
  admit(reading, whole, sorted);
}

void sort_common(const Reading& reading, const Ask& ask, const schema::CommonSetting& common,
                 Sorted& sorted) {
  const schema::Mapping* const mapping = mapping_on(common, *reading.unit.model);
  if (mapping == nullptr) {
    add_missing(sorted.missing, common.name, common, *reading.unit.model, ask);
    return;
  }
  Ask whole = ask;
  whole.meaning = {mapping->object, &common, mapping};
  admit(reading, whole, sorted);
}

void sort(const Reading& reading, const Source& source, Sorted& sorted) {
  for (const Written& written : source.block->settings) {
    // What is no scalar on any model, or can be desired on none, is a fault of check_names already.
    if (reading.names.kind(written.name) != Names::Kind::scalar) continue;
    if (!reading.names.bar_everywhere(written.name).empty()) continue;
    const Ask ask{&source, &written, {}};
    const auto common = reading.schema.settings.find(written.name);
    if (common != reading.schema.settings.end()) {
      sort_common(reading, ask, common->second, sorted);
    } else {
      sort_own(reading, ask, sorted);
    }
  }
}

}  // namespace

std::vector<Ranked> ranked(const Layers& layers, const Unit& unit) {
  std::vector<Ranked> ranks;
  int level = 0;
  ranks.push_back({layers.fleet, level});
  for (const auto& equals : unit.groups) {
    ++level;
    for (const std::string& group : equals) {
      const auto found = layers.groups->find(group);
      if (found != layers.groups->end()) ranks.push_back({&found->second, level});
    }
  }
  ranks.push_back({layers.unit, level + 1});
  return ranks;
}

std::map<std::string, std::string> settle_values(const Reading& reading, const std::vector<Ranked>& layers) {
  std::vector<Source> sources;
  for (const Ranked& ranked : layers) {
    sources.push_back({nullptr, &ranked.layer->name, ranked.level, static_cast<int>(sources.size())});
  }
  std::map<std::string, std::vector<Say>> said;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    for (const Written& value : layers[i].layer->values) {
      said[value.name].push_back({&sources[i], value.place, value.text, nullptr});
    }
  }
  std::map<std::string, std::string> values;
  for (const auto& [name, says] : said) values[name] = settle(reading, "value " + name, says).text;
  return values;
}

void resolve_settings(const Reading& reading, const std::vector<Source>& sources, Desired& desired) {
  Sorted sorted;
  for (const Source& source : sources) sort(reading, source, sorted);
  for (const auto& [name, asks] : sorted.by_object) {
    if (asks.empty()) continue;
    if (auto value = settle(reading, asks)) desired.values.push_back(std::move(*value));
  }
  std::sort(desired.values.begin(), desired.values.end(),
            [](const DesiredValue& a, const DesiredValue& b) { return a.name < b.name; });
  tell_missing(reading, sorted.missing, desired);
}

Desired resolve(const Reading& reading, const std::vector<Ranked>& layers) {
  const std::vector<Source> sources = sources_of(layers, reading.unit.model->name);
  Desired desired;
  resolve_settings(reading, sources, desired);
  resolve_tables(reading, sources, desired);
  resolve_traits(reading, sources, desired);
  return desired;
}

}  // namespace vergeset::fleet
