#pragma once

#include <cstdint>

#include "schema/model.h"
#include "smi/value.h"

namespace vergeset::sim {

/// What a unit holds as it leaves its factory: the model's own default where that is given,
/// otherwise something plausible that its syntax allows.
smi::Value factory_value(const schema::Object& object, const schema::Model& model, std::uint64_t seed,
                         std::uint32_t index);

/// Whether a row cannot be without this column (RFC 2579 RowStatus: it stays notReady). The object
/// lists of both standards do not say which; taken here: a PSID that may not be empty, a payload
/// that a person gives, and where to forward to, unless the model gives a default.
bool required(const schema::Object& column);

/// Rows that are the unit's own, from 1: as many radios, services and so on as it was built with.
std::uint32_t own_rows(const schema::Table& table);

/// Rows that a unit takes where its model has no object that says.
inline constexpr std::int64_t most_rows = 100;

}  // namespace vergeset::sim
