#include "fleet/resolve.h"

#include <algorithm>

#include "fleet/meaning.h"

namespace vergeset::fleet {

namespace {

std::vector<Source> sources_of(const std::vector<Ranked>& layers, const std::string& model) {
  std::vector<Source> sources;
  int file = 0;
  for (const Ranked& ranked : layers) {
    const auto add = [&](const Block& block) {
      sources.push_back({&block, &ranked.layer->name, ranked.level, file, ranked.lasting});
    };
    add(ranked.layer->plain);
    if (const Block* const only = ranked.layer->only_for(model)) add(*only);
    ++file;
  }
  return sources;
}

void admit(const Reading& reading, const Ask& ask, Asks& asks) {
  const schema::Object& object = *ask.meaning.object;
  const std::string bar = bar_to(object);
  if (bar.empty()) {
    add_ask(reading, asks.settings[object.name], ask);
  } else {
    reading.fault(ask.written->name_place, ask.written->name + " " + bar + ": it cannot be asked for");
  }
}

void sort_own(const Reading& reading, const Ask& ask, Asks& asks) {
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
  admit(reading, whole, asks);
}

void sort_common(const Reading& reading, const Ask& ask, const schema::CommonSetting& common, Asks& asks) {
  const schema::Mapping* const mapping = mapping_on(common, *reading.unit.model);
  if (mapping == nullptr) {
    add_missing(asks.missing, common.name, common, *reading.unit.model, ask);
    return;
  }
  Ask whole = ask;
  whole.meaning = {mapping->object, &common, mapping};
  admit(reading, whole, asks);
}

void sort(const Reading& reading, const Source& source, Asks& asks) {
  for (const Written& written : source.block->settings) {
    // What is no scalar on any model, or can be desired on none, is a fault of check_names already.
    if (reading.names.kind(written.name) != Names::Kind::scalar) continue;
    if (!reading.names.bar_everywhere(written.name).empty()) continue;
    const Ask ask = ask_of(source, written);
    const auto common = reading.schema.settings.find(written.name);
    if (common != reading.schema.settings.end()) {
      sort_common(reading, ask, common->second, asks);
    } else {
      sort_own(reading, ask, asks);
    }
  }
}

}  // namespace

std::vector<Ranked> ranked(const Layers& layers, const Unit& unit) {
  std::vector<Ranked> ranks;
  int level = 0;
  ranks.push_back({layers.fleet, level, true});
  for (const auto& equals : unit.groups) {
    ++level;
    for (const std::string& group : equals) {
      const auto found = layers.groups->find(group);
      if (found != layers.groups->end()) ranks.push_back({&found->second, level, true});
    }
  }
  if (layers.unit != nullptr) ranks.push_back({layers.unit, level + 1, false});
  return ranks;
}

Texts settle_values(const Reading& reading, const std::vector<Ranked>& layers) {
  std::vector<Source> sources;
  for (const Ranked& ranked : layers) {
    const int file = static_cast<int>(sources.size());
    sources.push_back({nullptr, &ranked.layer->name, ranked.level, file, ranked.lasting});
  }
  std::map<std::string, std::vector<Say>> said;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    for (const Written& value : layers[i].layer->values) {
      said[value.name].push_back({&sources[i], value.place, value.text, nullptr});
    }
  }
  Texts values;
  for (const auto& [name, says] : said) values.set(name, settle(reading, "value " + name, says).text);
  return values;
}

Asks gather(const Reading& reading, const std::vector<Ranked>& layers) {
  Asks asks;
  asks.sources = sources_of(layers, reading.unit.model->name);
  for (const Source& source : asks.sources) sort(reading, source, asks);
  asks.tables = gather_tables(reading, asks.sources, asks.tables_left_out);
  return asks;
}

void settle_settings(const Reading& reading, const Asks& asks, Desired& desired) {
  for (const auto& [name, said] : asks.settings) {
    if (said.empty()) continue;
    if (auto value = settle(reading, said)) desired.values.push_back(std::move(value));
  }
  desired.values.sort([](const DesiredValue& a, const DesiredValue& b) { return a.name < b.name; });
  tell_missing(reading, asks.missing, "", desired);
}

Desired settle(const Reading& reading, const Asks& asks) {
  Desired desired;
  settle_settings(reading, asks, desired);
  for (const LeftOut& left : asks.tables_left_out) desired.left_out.push_back(left);
  settle_tables(reading, asks, desired);
  settle_traits(reading, asks, desired);
  return desired;
}

}  // namespace vergeset::fleet
