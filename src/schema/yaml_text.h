#pragma once

#include <yaml-cpp/yaml.h>

#include <string>

#include "schema/place.h"

namespace vergeset::schema {

/// The text of a file under its name in messages. yaml-cpp counts columns in octets, people and their
/// editors in characters.
struct YamlText {
  SharedText file;
  std::string octets;

  Place place(const YAML::Mark& mark) const;
  Place place(std::size_t octet) const;
};

}  // namespace vergeset::schema
