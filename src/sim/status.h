#pragma once

#include <cstddef>
#include <optional>
#include <string_view>
#include <vector>

#include "smi/oid.h"
#include "smi/value.h"

namespace vergeset::sim {

/// error-status of a response (RFC 3416 section 3).
enum class Status {
  no_error = 0,
  too_big = 1,
  gen_err = 5,
  no_access = 6,
  wrong_type = 7,
  wrong_length = 8,
  wrong_encoding = 9,
  wrong_value = 10,
  no_creation = 11,
  inconsistent_value = 12,
  resource_unavailable = 13,
  commit_failed = 14,
  undo_failed = 15,
  authorization_error = 16,
  not_writable = 17,
  inconsistent_name = 18,
};

/// "noError", "inconsistentValue", ... and back.
std::string_view status_name(Status status);
std::optional<Status> status_named(std::string_view name);
/// All names but noError, for messages.
std::vector<std::string> status_names();

struct VarBind {
  smi::Oid oid;
  smi::Value value;
  bool operator==(const VarBind&) const = default;
};

/// What is said of a SET: noError, or why not and which variable binding (from 1) it speaks of.
struct Verdict {
  Status status = Status::no_error;
  std::size_t index = 0;
  bool ok() const { return status == Status::no_error; }
  bool operator==(const Verdict&) const = default;
};

}  // namespace vergeset::sim
