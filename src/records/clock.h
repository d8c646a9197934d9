#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace vergeset::records {

/// The wall clock, for records only: durations are measured by the network's monotonic one.
class Clock {
 public:
  virtual ~Clock() = default;
  /// Milliseconds since 1970-01-01T00:00Z.
  virtual std::int64_t now() const = 0;
};

class SystemClock : public Clock {
 public:
  std::int64_t now() const override;
};

/// "2026-11-25T02:00:01.123Z" (RFC 3339), and "2026-11-25T02-00-01Z" for the name of a file.
std::string stamp(std::int64_t milliseconds);
std::string file_stamp(std::int64_t milliseconds);

/// The time of a stamp; nothing where the text is none.
std::optional<std::int64_t> milliseconds_of(const std::string& stamp);

}  // namespace vergeset::records
