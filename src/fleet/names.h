#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "fleet/layer.h"
#include "schema/model.h"

namespace vergeset::fleet {

/// Letters, digits, - _ and dots, not beginning with a dot or a dash: names of units and groups
/// become names of files and words of a command line.
bool plain_name(std::string_view name);

/// The end of a message about an unknown name: the one that was probably meant, or else what helps.
std::string hint(std::string_view wrong, const std::vector<std::string>& known, const std::string& otherwise);

/// Why an object cannot be desired ("is read-only", ...); empty where it can.
std::string bar_to(const schema::Object& object);

/// Every name that a layer block may hold, over all models: so that a slip of the pen is told once
/// and with a suggestion, whether or not a unit uses the block.
class Names {
 public:
  enum class Kind { unknown, scalar, column, table };

  explicit Names(const schema::Schema& schema);

  Kind kind(std::string_view name) const;
  /// Whether a table, by this name on any model, has a column of this name.
  bool has_column(std::string_view table, std::string_view column) const;
  /// The models that have an object or table of this name: "rsu-4.1, ntcip1218-v01".
  std::string models_with(std::string_view name) const;

  /// Why a standard's scalar can be desired on none of the models that have it; empty where it can.
  std::string bar_everywhere(std::string_view name) const;

  const std::vector<std::string>& settings() const { return settings_; }
  std::vector<std::string> tables() const;
  std::vector<std::string> columns(std::string_view table) const;
  /// Of objects and tables, the standards' own: what traits go by.
  std::vector<std::string> own() const;
  const schema::Schema& schema() const { return schema_; }

 private:
  void add_table(const std::string& name, const schema::Table& table);

  const schema::Schema& schema_;
  std::map<std::string, Kind, std::less<>> kinds_;
  std::vector<std::string> settings_;
  std::map<std::string, std::vector<std::string>, std::less<>> columns_;  ///< by table
  std::map<std::string, std::string, std::less<>> table_of_;              ///< by column
};

/// Faults for the names of a block that no model knows, or that stand in the wrong part of it.
void check_names(const Layer& layer, const Names& names, Faults& faults);

}  // namespace vergeset::fleet
