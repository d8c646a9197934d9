#include "fleet/ask.h"

#include "fleet/substitute.h"

namespace vergeset::fleet {

namespace {

/// `text` with what was put in taken out again, so that one slip reads the same for every unit.
std::string but_for_unit(std::string text, const std::string& substituted, const std::string& written) {
  if (substituted.empty() || !has_substitutes(written)) return text;
  for (std::size_t at = 0; (at = text.find(substituted, at)) != std::string::npos; at += written.size()) {
    text.replace(at, substituted.size(), written);
  }
  return text;
}

std::optional<smi::Value> value_from_file(const Reading& reading, const Ask& ask, const std::string& path) {
  const Written& written = *ask.written;
  const auto fault = [&](const std::string& text) {
    reading.fault(written.place, text, but_for_unit(text, path, written.text));
  };
  if (ask.meaning.object->syntax.wire() != smi::Type::octet_string) {
    fault(written.name + " is no string of octets: its value cannot come from a file");
    return std::nullopt;
  }
  const Payloads::Loaded& loaded = reading.payloads.read(path);
  if (!loaded.problem.empty()) fault("the file of " + written.name + ": " + loaded.problem);
  if (!loaded.octets) return std::nullopt;
  smi::Value value = smi::Value::of_octets(*loaded.octets);
  if (const auto broken = smi::violation(ask.meaning.object->syntax, value)) {
    fault("the file of " + written.name + ": " + *broken);
    return std::nullopt;
  }
  return value;
}

std::optional<std::string> substituted(const Reading& reading, const Written& written) {
  const auto text = substitute(written.text, reading.unit);
  if (text) return *text;
  reading.fault(written.place, written.name + ": " + text.problem());
  return std::nullopt;
}

std::optional<smi::Value> value_of(const Reading& reading, const Ask& ask) {
  const auto text = substituted(reading, *ask.written);
  if (!text) return std::nullopt;
  if (ask.written->from_file) return value_from_file(reading, ask, *text);
  const auto value = value_for(ask.meaning, ask.written->name, *text);
  if (value) return *value;
  reading.fault(ask.written->place, value.problem(), but_for_unit(value.problem(), *text, ask.written->text));
  return std::nullopt;
}

std::optional<std::int64_t> message_of(const Reading& reading, const Ask& ask) {
  const auto text = substituted(reading, *ask.written);
  if (!text) return std::nullopt;
  const auto id = message_id_for(*ask.meaning.common, *text);
  if (id) return *id;
  reading.fault(ask.written->place, id.problem(), but_for_unit(id.problem(), *text, ask.written->text));
  return std::nullopt;
}

void equals_differ(const Reading& reading, const std::string& what, const Place& place,
                   const std::string& text, const std::string& layer, const Place& other,
                   const std::string& other_text) {
  reading.fault(place, what + " is " + text + " in " + layer + " and " + other_text + " in " + other.str() +
                           ", and the two groups are equals; settle it in a later group or in the unit");
}

void equals_differ(const Reading& reading, const Ask& one, const Ask& other) {
  equals_differ(reading, one.written->name, one.written->place, one.written->text, *one.source->layer,
                other.written->place, other.written->text);
}

}  // namespace

const Say& settle(const Reading& reading, const std::string& what, const std::vector<Say>& said) {
  const auto top = strongest(said);
  for (std::size_t i = 1; i < top.size(); ++i) {
    if (top[i]->text == top[0]->text) continue;
    equals_differ(reading, what, top[0]->place, top[0]->text, *top[0]->source->layer, top[i]->place,
                  top[i]->text);
  }
  return *top.front();
}

std::optional<DesiredValue> settle(const Reading& reading, const std::vector<Ask>& asks) {
  const auto top = strongest(asks);
  const schema::Object* const object = top.front()->meaning.object;
  std::vector<smi::Value> values;
  for (const Ask* ask : top) {
    if (auto value = value_of(reading, *ask)) values.push_back(std::move(*value));
  }
  if (values.size() != top.size()) return std::nullopt;
  for (std::size_t i = 1; i < top.size(); ++i) {
    if (!smi::agree(object->syntax, values[0], values[i])) equals_differ(reading, *top[0], *top[i]);
  }
  DesiredValue desired{top.front()->written->name, object, values.front(), top.front()->asked(), {}};
  for (auto ask = asks.rbegin(); ask != asks.rend(); ++ask) {
    if (&*ask != top.front()) desired.overrode.push_back(ask->asked());
  }
  return desired;
}

std::optional<std::int64_t> settle_message(const Reading& reading, const std::vector<Ask>& asks) {
  const auto top = strongest(asks);
  const auto id = message_of(reading, *top.front());
  for (std::size_t i = 1; i < top.size(); ++i) {
    const auto other = message_of(reading, *top[i]);
    if (id && other && *id != *other) equals_differ(reading, *top[0], *top[i]);
  }
  return id;
}

void add_ask(const Reading& reading, std::vector<Ask>& asks, const Ask& ask) {
  if (!asks.empty() && asks.back().source == ask.source) {
    const Written& first = *asks.back().written;
    reading.fault(ask.written->name_place, ask.written->name + " is asked for a second time, after " +
                                               first.name + " at " + first.name_place.str() +
                                               "; they are one on this unit's model, so keep one");
    return;
  }
  asks.push_back(ask);
}

}  // namespace vergeset::fleet
