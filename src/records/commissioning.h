#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "records/disk.h"
#include "smi/result.h"

namespace vergeset::records {

/// What a person answered to one check at a unit.
struct PoleAnswer {
  std::string check;   ///< by its name (checks/before_power.h)
  std::string answer;  ///< "yes", "no", "not asked", or a value as for the site record
  std::string note;
  std::string who;
  std::string at;  ///< RFC 3339
  bool operator==(const PoleAnswer&) const = default;
};

/// One stage of bringing a unit into service, as it went.
struct StageDone {
  /// What it was before a change and after it, in words.
  struct Setting {
    std::string name;
    std::string as_found;
    std::string as_left;
    bool operator==(const Setting&) const = default;
  };
  struct Finding {
    std::string rule;
    std::string severity;
    std::string text;
    std::string source;
    bool operator==(const Finding&) const = default;
  };
  std::string stage;  ///< "reach", "identify", "firmware", "keys", "apply", "health", "position", "messages"
  bool passed = false;
  std::string text;
  int change = 0;  ///< the change that it made; 0: none
  std::vector<Setting> settings{};
  std::vector<Finding> findings{};
  std::vector<std::pair<std::string, std::string>> facts{};  ///< "firmware" and "4.2.0"
  std::string who{};
  std::string at{};
  bool operator==(const StageDone&) const = default;
};

/// The bringing of one unit into service, kept in commissioning/<unit>/<number>.jsonl: one line an event, on
/// stable storage before the next, and never changed. It can be broken off anywhere and gone on with; the
/// last line of a check or stage is what holds.
class Commissioning {
 public:
  /// The unit's last one where that has not ended, or else a new one that begins with its first line. A
  /// problem where its record is damaged: what a person has signed for is not guessed at.
  static Result<Commissioning> open(const Disk& disk, const std::string& unit);

  int number() const { return number_; }
  bool is_new() const { return begun_.empty(); }
  const std::string& begun() const { return begun_; }
  const std::string& ended() const { return ended_; }
  const PoleAnswer* answer(const std::string& check) const;
  const StageDone* stage(const std::string& name) const;
  bool passed(const std::string& name) const;

  void begin(Disk& disk, const std::string& who, const std::string& at);
  void add(Disk& disk, PoleAnswer answer);
  void add(Disk& disk, StageDone stage);
  void end(Disk& disk, const std::string& who, const std::string& at);

  /// "commissioning/LK-104/0001", to which .jsonl, .txt and .html are added.
  std::string path() const;

 private:
  bool take(const std::string& line);
  void write(Disk& disk, const std::string& line);

  std::string unit_;
  int number_ = 0;
  bool torn_ = false;  ///< its last line has no end
  std::string begun_;
  std::string ended_;
  std::map<std::string, PoleAnswer> answers_;
  std::map<std::string, StageDone> stages_;
};

}  // namespace vergeset::records
