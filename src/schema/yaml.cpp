#include "schema/yaml.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <map>

#include "smi/suggest.h"

namespace vergeset::schema {

namespace {

std::string quoted(const std::string& text) {
  constexpr std::size_t most = 60;
  if (text.size() <= most) return '"' + text + '"';
  return '"' + text.substr(0, most) + "...\"";
}

std::string found(const YamlValue* value) {
  if (value == nullptr || value->kind == YamlValue::Kind::nothing) return "nothing stands here";
  if (value->is_map()) return "found a map";
  if (value->is_list()) return "found a list";
  return "found " + quoted(value->text);
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

std::string joined(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  return text;
}

}  // namespace

Place Entry::place() const {
  return text_->place(value_ != nullptr ? value_->mark : parent_);
}

/// True where the node is of the right kind; otherwise a fault, unless one was raised already.
bool Entry::usable(bool right_kind, std::string_view expected) const {
  if (right_kind) return true;
  if (!blamed_) fault(fmt::format("{} is expected; {}", expected, found(value_)));
  return false;
}

Entry Entry::missing(bool blamed) const {
  Entry entry = child(nullptr);
  entry.parent_ = value_ != nullptr ? value_->mark : parent_;
  entry.blamed_ = blamed;
  return entry;
}

std::string Entry::text(std::string_view expected) const {
  return usable(is_text(), expected) ? value_->text : "";
}

std::optional<bool> Entry::yes_no(std::string_view expected) const {
  if (!usable(is_text(), expected)) return std::nullopt;
  const std::string word = lower(value_->text);
  if (word == "yes" || word == "true" || word == "on") return true;
  if (word == "no" || word == "false" || word == "off") return false;
  fault(fmt::format("{}, yes or no, is expected; {}", expected, found(value_)));
  return std::nullopt;
}

std::optional<long long> Entry::number(std::string_view expected, long long low, long long high) const {
  if (!usable(is_text(), expected)) return std::nullopt;
  const std::string& text = value_->text;
  long long number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error == std::errc() && end == text.data() + text.size() && number >= low && number <= high) {
    return number;
  }
  fault(fmt::format("{}, {} to {}, is expected; {}", expected, low, high, found(value_)));
  return std::nullopt;
}

std::vector<std::pair<Entry, Entry>> Entry::pairs(std::string_view expected) const {
  std::vector<std::pair<Entry, Entry>> list;
  if (is_nothing() || !usable(is_map(), expected)) return list;
  std::map<std::string, Place> seen;
  for (std::size_t i = 0; i + 1 < value_->parts.size(); i += 2) {
    const Entry key = child(value_->parts[i]);
    if (!key.is_text()) {
      key.fault("a name is expected in front of the colon; " + found(key.value_));
      continue;
    }
    const auto [first, fresh] = seen.try_emplace(key.value_->text, key.place());
    if (fresh) {
      list.emplace_back(key, child(value_->parts[i + 1]));
    } else {
      key.fault(fmt::format("{} stands here a second time, after line {}; keep one of the two",
                            quoted(first->first), first->second.line));
    }
  }
  return list;
}

std::vector<Entry> Entry::members(std::string_view expected) const {
  std::vector<Entry> list;
  if (is_nothing() || !usable(!is_map(), expected)) return list;
  if (is_text()) return {*this};
  for (const YamlValue* member : value_->parts) list.push_back(child(member));
  return list;
}

Entry Entry::at(std::string_view key) const {
  if (is_map()) {
    for (std::size_t i = 0; i + 1 < value_->parts.size(); i += 2) {
      const YamlValue& name = *value_->parts[i];
      if (name.is_text() && name.text == key) return child(value_->parts[i + 1]);
    }
  }
  return missing(blamed_);
}

Entry Entry::need(std::string_view key) const {
  const Entry entry = at(key);
  if (entry) return entry;
  if (!blamed_) fault(fmt::format("`{}:` is missing", key));
  return missing(true);
}

void Entry::only(const std::vector<std::string>& known) const {
  if (!is_map()) return;
  std::map<std::string, int> lines;
  for (std::size_t i = 0; i + 1 < value_->parts.size(); i += 2) {
    const Entry name = child(value_->parts[i]);
    if (!name.is_text()) continue;
    const std::string& key = name.value_->text;
    const auto [first, fresh] = lines.emplace(key, name.value_->mark.line + 1);
    if (!fresh) {
      name.fault(fmt::format("{} stands here a second time, after line {}; keep one of the two", quoted(key),
                             first->second));
    }
    if (std::find(known.begin(), known.end(), key) != known.end()) continue;
    std::string help = smi::suggestion(key, known);
    if (help.empty()) help = "; known here: " + joined(known);
    name.fault("unknown key " + quoted(key) + help);
  }
}

}  // namespace vergeset::schema
