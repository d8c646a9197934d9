#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schema/model.h"
#include "smi/value.h"

namespace vergeset::checks {

/// What was read of a unit, as checks see it: they stand above the surveys that read it.
struct AsRead {
  const schema::Model& model;
  /// The value of an instance; an absent value where it is not there or was not asked.
  std::function<const smi::Value&(const smi::Oid&)> at;
  /// The indexes of the rows of a table, ascending.
  std::function<std::vector<std::uint32_t>(const schema::Table&)> rows;
  std::int64_t now = 0;  ///< when it was read, milliseconds since 1970-01-01T00:00Z

  /// A scalar's value, or a column's in a row; nothing where there is none, or no such object.
  const smi::Value* value(const schema::Object* object, std::uint32_t index = 0) const;
  const smi::Value* value(std::string_view name, std::uint32_t index = 0) const;
  /// The same where it is a number, of whatever integer type.
  std::optional<std::int64_t> number(const schema::Object* object, std::uint32_t index = 0) const;
  std::optional<std::int64_t> number(std::string_view name, std::uint32_t index = 0) const;
  /// A value in the unit's own words: its label, its text.
  std::string words(std::string_view name, std::uint32_t index = 0) const;
};

/// The object that one of the two standards calls by one name, and the other by another.
const schema::Object* either(const schema::Model& model, const char* one, const char* other);

}  // namespace vergeset::checks
