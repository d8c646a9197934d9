#include "fleet/ask.h"

#include "fleet/settled.h"
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

std::optional<smi::Value> value_of(const Reading& reading, const Ask& ask, const std::string& text) {
  if (ask.written->from_file) return value_from_file(reading, ask, text);
  auto value = value_for(ask.meaning, ask.written->name, text);
  if (value) return *std::move(value);
  reading.fault(ask.written->place, value.problem(), but_for_unit(value.problem(), text, ask.written->text));
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

/// The texts of asks with all put in; nothing for one that has a fault.
std::vector<std::optional<std::string>> put_in(const Reading& reading, const std::vector<const Ask*>& asks) {
  std::vector<std::optional<std::string>> texts;
  texts.reserve(asks.size());
  for (const Ask* ask : asks) texts.push_back(substituted(reading, *ask->written));
  return texts;
}

/// The texts that differ from unit to unit, in one; nothing where one of them has a fault.
std::optional<std::string> key_of(const std::vector<std::optional<std::string>>& texts,
                                  const std::vector<const Ask*>& asks) {
  std::string key;
  for (std::size_t i = 0; i < texts.size(); ++i) {
    if (!texts[i]) return std::nullopt;
    if (has_substitutes(asks[i]->written->text)) add_to_key(key, *texts[i]);
  }
  return key;
}

std::shared_ptr<const DesiredValue> settle_anew(const Reading& reading, const std::vector<Ask>& asks,
                                                const std::vector<const Ask*>& top,
                                                const std::vector<std::optional<std::string>>& texts) {
  const schema::Object* const object = top.front()->meaning.object;
  std::vector<smi::Value> values;
  for (std::size_t i = 0; i < top.size(); ++i) {
    if (!texts[i]) continue;
    if (auto value = value_of(reading, *top[i], *texts[i])) values.push_back(std::move(*value));
  }
  if (values.size() != top.size()) return nullptr;
  for (std::size_t i = 1; i < top.size(); ++i) {
    if (!smi::agree(object->syntax, values[0], values[i])) equals_differ(reading, *top[0], *top[i]);
  }
  auto desired = std::make_shared<DesiredValue>(
      DesiredValue{top.front()->name, object, std::move(values.front()), top.front()->asked(), {}});
  for (auto ask = asks.rbegin(); ask != asks.rend(); ++ask) {
    if (&*ask != top.front()) desired->overrode.push_back(ask->asked());
  }
  return desired;
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

std::shared_ptr<const DesiredValue> settle(const Reading& reading, const std::vector<Ask>& asks) {
  const auto top = strongest(asks);
  const auto texts = put_in(reading, top);
  auto* const known = reading.settled.of(asks, top);
  const std::optional<std::string> key = known == nullptr ? std::nullopt : key_of(texts, top);
  if (key) {
    if (auto value = known->find(*key)) return value;
  }
  const std::size_t faults = reading.faults.count();
  auto value = settle_anew(reading, asks, top, texts);
  if (key && value != nullptr && reading.faults.count() == faults) known->keep(*key, value);
  return value;
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
