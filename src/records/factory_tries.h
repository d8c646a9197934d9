#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "records/disk.h"

namespace vergeset::records {

/// What came of one try whether a unit lets in what it had from the factory.
struct FactoryTry {
  enum class Result {
    opens,      ///< it let us in
    refused,    ///< it said no, or could not be made to answer
    not_tried,  ///< the unit let nobody in any more: it was left alone
    begun,      ///< what came of it is not on record: the run ended there
  };
  std::string name;  ///< "credential factory", "community public"
  Result result = Result::begun;
  std::string at;  ///< RFC 3339; empty where it was not tried
  bool operator==(const FactoryTry&) const = default;
};

const char* result_name(FactoryTry::Result result);
std::optional<FactoryTry::Result> result_named(const std::string& name);

/// units/<unit>.factory.jsonl: the last try of each name, one line each. Units lock out who fails too often,
/// so a try is on record before it is made, and is not made again within twelve hours: an audit every night
/// tries once a night, however often someone audits in between.
class FactoryTries {
 public:
  static FactoryTries read(const Disk& disk, const std::string& unit);

  /// What is known of it, where it is too young at `now` (milliseconds since 1970) to be tried again.
  std::optional<FactoryTry> recent(const std::string& name, std::int64_t now) const;
  /// What any way of trying costs: put on record as begun, before it is made.
  void begin(Disk& disk, const std::string& name, std::int64_t now);
  void end(Disk& disk, const std::string& name, FactoryTry::Result result);

 private:
  explicit FactoryTries(std::string path) : path_(std::move(path)) {}
  void write(Disk& disk) const;

  std::string path_;
  std::vector<FactoryTry> tries_;
};

}  // namespace vergeset::records
