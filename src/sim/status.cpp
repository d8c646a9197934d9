#include "sim/status.h"

#include <array>
#include <string>
#include <utility>

namespace vergeset::sim {

namespace {

constexpr std::array<std::pair<Status, std::string_view>, 16> names{{
    {Status::no_error, "noError"},
    {Status::too_big, "tooBig"},
    {Status::gen_err, "genErr"},
    {Status::no_access, "noAccess"},
    {Status::wrong_type, "wrongType"},
    {Status::wrong_length, "wrongLength"},
    {Status::wrong_encoding, "wrongEncoding"},
    {Status::wrong_value, "wrongValue"},
    {Status::no_creation, "noCreation"},
    {Status::inconsistent_value, "inconsistentValue"},
    {Status::resource_unavailable, "resourceUnavailable"},
    {Status::commit_failed, "commitFailed"},
    {Status::undo_failed, "undoFailed"},
    {Status::authorization_error, "authorizationError"},
    {Status::not_writable, "notWritable"},
    {Status::inconsistent_name, "inconsistentName"},
}};

}  // namespace

std::string_view status_name(Status status) {
  for (const auto& [value, name] : names)
    if (value == status) return name;
  return "genErr";
}

std::optional<Status> status_named(std::string_view wanted) {
  for (const auto& [value, name] : names)
    if (name == wanted && value != Status::no_error) return value;
  return std::nullopt;
}

std::vector<std::string> status_names() {
  std::vector<std::string> all;
  for (const auto& [value, name] : names)
    if (value != Status::no_error) all.emplace_back(name);
  return all;
}

}  // namespace vergeset::sim
