#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "schema/model.h"
#include "smi/units.h"

namespace vergeset::report {

/// Members in the order in which people read them: the description first.
using OrderedJson = nlohmann::ordered_json;

/// What may be written for a name of a fleet's files, whichever model takes it, and that as a JSON Schema.
/// Values are text to vergeset (`on`, `0x82`), but an editor's YAML makes numbers and booleans of some:
/// a shape takes what either has.
class ValueShape {
 public:
  /// A standard's own name.
  void add(const schema::Object& object) { add(object, nullptr, nullptr); }
  /// A common name on each model that has it.
  void add(const schema::CommonSetting& common);

  /// Draft-07, with references to the other definitions of the document.
  OrderedJson schema(const std::string& description) const;

 private:
  void add(const schema::Object& object, const schema::CommonSetting* common, const schema::Mapping* mapping);
  void add_counted(const schema::Object& object, const schema::CommonSetting* common);
  void add_word(const std::string& word);
  void add_labels(const std::vector<smi::Label>& labels);
  void add_measure(const std::string& unit);
  void add_numbers(smi::Range range);
  std::vector<std::string> patterns() const;
  std::vector<std::string> types() const;
  std::string expected() const;
  OrderedJson words_schema() const;
  OrderedJson text_schema(const std::string& description) const;

  std::vector<std::string> words_;
  std::vector<smi::Dimension> measures_;  ///< a number with a unit of these
  std::optional<smi::Range> numbers_;     ///< a bare number
  std::vector<smi::Form> forms_;          ///< a text that is read: an address, a time, hex
  bool text_ = false;                     ///< any text
  bool file_ = false;                     ///< octets, which a file may hold
  bool several_ = false;                  ///< several words
};

/// The definition of quantities of a dimension: "a-length".
std::string measure_name(smi::Dimension dimension);
/// A number and a unit of that dimension, in any of its spellings; `put_in`: or something to be put in.
OrderedJson measure_schema(smi::Dimension dimension, bool put_in);

/// A text that is in any case one of `words`, as a regular expression that every editor understands.
std::string in_any_case(const std::vector<std::string>& words);

}  // namespace vergeset::report
