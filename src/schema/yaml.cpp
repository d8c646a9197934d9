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

std::string found(const YAML::Node& node) {
  if (!node.IsDefined() || node.IsNull()) return "nothing stands here";
  if (node.IsMap()) return "found a map";
  if (node.IsSequence()) return "found a list";
  return "found " + quoted(node.Scalar());
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

Entry& Entry::operator=(const Entry& other) {
  node_.reset(other.node_);
  text_ = other.text_;
  faults_ = other.faults_;
  parent_ = other.parent_;
  blamed_ = other.blamed_;
  return *this;
}

Place Entry::place() const {
  return text_->place(node_.IsDefined() ? node_.Mark() : parent_);
}

/// True where the node is of the right kind; otherwise a fault, unless one was raised already.
bool Entry::usable(bool right_kind, std::string_view expected) const {
  if (right_kind) return true;
  if (!blamed_) fault(fmt::format("{} is expected; {}", expected, found(node_)));
  return false;
}

Entry Entry::missing(bool blamed) const {
  Entry entry = child(YAML::Node(YAML::NodeType::Undefined));
  entry.parent_ = node_.IsDefined() ? node_.Mark() : parent_;
  entry.blamed_ = blamed;
  return entry;
}

std::string Entry::text(std::string_view expected) const {
  return usable(is_text(), expected) ? node_.Scalar() : "";
}

std::optional<bool> Entry::yes_no(std::string_view expected) const {
  if (!usable(is_text(), expected)) return std::nullopt;
  const std::string word = lower(node_.Scalar());
  if (word == "yes" || word == "true" || word == "on") return true;
  if (word == "no" || word == "false" || word == "off") return false;
  fault(fmt::format("{}, yes or no, is expected; {}", expected, found(node_)));
  return std::nullopt;
}

std::optional<long long> Entry::number(std::string_view expected, long long low, long long high) const {
  if (!usable(is_text(), expected)) return std::nullopt;
  const std::string& text = node_.Scalar();
  long long number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error == std::errc() && end == text.data() + text.size() && number >= low && number <= high) {
    return number;
  }
  fault(fmt::format("{}, {} to {}, is expected; {}", expected, low, high, found(node_)));
  return std::nullopt;
}

std::vector<std::pair<Entry, Entry>> Entry::pairs(std::string_view expected) const {
  std::vector<std::pair<Entry, Entry>> list;
  if (is_nothing() || !usable(is_map(), expected)) return list;
  std::map<std::string, Place> seen;
  for (const auto& pair : node_) {
    const Entry key = child(pair.first);
    if (!key.is_text()) {
      key.fault("a name is expected in front of the colon; " + found(pair.first));
      continue;
    }
    const auto [first, fresh] = seen.try_emplace(pair.first.Scalar(), key.place());
    if (fresh) {
      list.emplace_back(key, child(pair.second));
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
  for (const auto& member : node_) list.push_back(child(member));
  return list;
}

Entry Entry::at(std::string_view key) const {
  if (is_map()) {
    for (const auto& pair : node_) {
      if (pair.first.IsScalar() && pair.first.Scalar() == key) return child(pair.second);
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
  for (const auto& pair : node_) {
    if (!pair.first.IsScalar()) continue;
    const std::string& key = pair.first.Scalar();
    const auto [first, fresh] = lines.emplace(key, child(pair.first).place().line);
    if (!fresh) {
      child(pair.first)
          .fault(fmt::format("{} stands here a second time, after line {}; keep one of the two", quoted(key),
                             first->second));
    }
    if (std::find(known.begin(), known.end(), key) != known.end()) continue;
    std::string help = smi::suggestion(key, known);
    if (help.empty()) help = "; known here: " + joined(known);
    child(pair.first).fault("unknown key " + quoted(key) + help);
  }
}

}  // namespace vergeset::schema
