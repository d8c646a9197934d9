#pragma once

#include <yaml-cpp/yaml.h>

#include <vector>

#include "records/snapshot.h"

namespace vergeset::records {

/// Kept values and rows as YAML, as snapshots and work orders hold them.
void emit(YAML::Emitter& out, const Kept& kept);
void emit(YAML::Emitter& out, const std::vector<Kept>& list);
void emit(YAML::Emitter& out, const std::vector<KeptRow>& rows);
/// yes or no under a key.
Result<bool> yes_no_at(const YAML::Node& map, const char* key);
Result<Kept> kept_from(const YAML::Node& node);
Result<std::vector<Kept>> kept_list_from(const YAML::Node& list);
Result<std::vector<KeptRow>> kept_rows_from(const YAML::Node& list);

}  // namespace vergeset::records
