#pragma once

#include <map>
#include <string>
#include <vector>

#include "fleet/ask.h"

namespace vergeset::fleet {

/// Common settings that mean nothing on this model, by name, with the reason: told as left out or
/// as a fault once it is known which layer asked last.
struct Missing {
  std::string why;
  bool refused = false;
  std::vector<Ask> asks;
};

/// What a common setting is on a model, or nothing.
const schema::Mapping* mapping_on(const schema::CommonSetting& setting, const schema::Model& model);

/// Keeps an ask for a common setting that the model lacks.
void add_missing(std::map<std::string, Missing>& missing, const std::string& name,
                 const schema::CommonSetting& setting, const schema::Model& model, const Ask& ask);

/// Tells what is missing: LeftOut, its name behind `prefix`, or a fault where the common setting is refused
/// on this model.
void tell_missing(const Reading& reading, const std::map<std::string, Missing>& missing,
                  const std::string& prefix, Desired& desired);

}  // namespace vergeset::fleet
