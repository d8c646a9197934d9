#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "schema/place.h"
#include "schema/yaml_text.h"
#include "schema/yaml_tree.h"

namespace vergeset::schema {

/// A piece of a YAML file that knows where it stands and reports what is wrong with it. Reading
/// never throws: what is of the wrong kind is a fault, and reads as empty.
///
/// Every scalar is text as written: `on`, `0x82` and `08:30` mean what the object's syntax says,
/// not what a YAML version thinks of them.
class Entry {
 public:
  Entry() = default;
  Entry(const YamlValue* value, const YamlText* text, Faults* faults, bool blamed = false)
      : value_(value), text_(text), faults_(faults), blamed_(blamed) {}

  explicit operator bool() const { return faults_ != nullptr && value_ != nullptr; }
  bool is_map() const { return value_ != nullptr && value_->is_map(); }
  bool is_list() const { return value_ != nullptr && value_->is_list(); }
  bool is_text() const { return value_ != nullptr && value_->is_text(); }
  bool is_nothing() const { return value_ == nullptr || value_->kind == YamlValue::Kind::nothing; }

  Place place() const;
  void fault(std::string text) const { faults_->add(place(), std::move(text)); }
  Faults& faults() const { return *faults_; }
  const std::string& file() const { return text_->file; }
  /// Missing, or not to be read, and a fault says so already.
  bool blamed() const { return blamed_; }

  /// The text of a scalar; otherwise a fault saying what was expected ("an address").
  std::string text(std::string_view expected) const;
  /// yes/no, true/false or on/off.
  std::optional<bool> yes_no(std::string_view expected) const;
  std::optional<long long> number(std::string_view expected, long long low, long long high) const;

  /// The pairs of a map, in the order of the file; each key once (a second is a fault). Not a map:
  /// a fault saying what was expected, and no pairs. Nothing at all: no pairs.
  std::vector<std::pair<Entry, Entry>> pairs(std::string_view expected) const;
  /// The members of a list; a lone scalar is a list of one.
  std::vector<Entry> members(std::string_view expected) const;
  /// The value under a key of a map; undefined where there is none.
  Entry at(std::string_view key) const;
  /// As `at`, with a fault where there is none.
  Entry need(std::string_view key) const;
  /// A fault, with a suggestion, for each key that is not one of `known`, and for a key that stands
  /// twice.
  void only(const std::vector<std::string>& known) const;

 private:
  bool usable(bool right_kind, std::string_view expected) const;
  Entry child(const YamlValue* value) const { return {value, text_, faults_}; }
  Entry missing(bool blamed) const;

  const YamlValue* value_ = nullptr;  ///< nothing where it is missing
  const YamlText* text_ = nullptr;
  Faults* faults_ = nullptr;
  YAML::Mark parent_ = YAML::Mark::null_mark();  ///< of a missing value: where its map stands
  bool blamed_ = false;
};

/// A parsed file. `shown` is its name in messages (relative to the fleet). A file that is missing
/// or is no YAML is a fault, and its root reads as empty without a further one.
class YamlFile {
 public:
  YamlFile(const std::string& path, std::string shown, Faults& faults);
  YamlFile(const YamlFile&) = delete;
  YamlFile& operator=(const YamlFile&) = delete;

  Entry root() const { return {root_, &text_, faults_, broken_}; }

 private:
  YamlText text_;
  Faults* faults_;
  YamlTree tree_;
  YamlValue empty_;  ///< what a file without a document holds
  const YamlValue* root_ = &empty_;
  bool broken_ = false;
};

}  // namespace vergeset::schema
