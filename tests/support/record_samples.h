#pragma once

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "catch.h"

/// The samples of records (tests/records/samples), and how it is seen that none is missing. Whatever reads
/// them asks for all versions of a kind by versions_of, so that no test holds for want of a sample.
namespace vergeset::test {

/// change-1.yaml to change-3.yaml: "change", ".yaml", 3.
struct SampleKind {
  const char* name;
  const char* ending;
  int newest;
};

inline constexpr std::array<SampleKind, 19> sample_kinds{{{"approval", ".yaml", 1},
                                                          {"audit", ".json", 7},
                                                          {"change", ".yaml", 3},
                                                          {"commissioning", ".jsonl", 1},
                                                          {"cut-audit", ".json", 1},
                                                          {"engines", ".jsonl", 1},
                                                          {"factory", ".jsonl", 2},
                                                          {"holder", ".yaml", 1},
                                                          {"journal", ".jsonl", 4},
                                                          {"key-journal", ".jsonl", 2},
                                                          {"keys", ".jsonl", 2},
                                                          {"known-units", ".jsonl", 3},
                                                          {"notification-log", ".log", 1},
                                                          {"order", ".yaml", 2},
                                                          {"own-engine", ".json", 1},
                                                          {"recovered-journal", ".jsonl", 2},
                                                          {"snapshot", ".yaml", 3},
                                                          {"survey", ".yaml", 1},
                                                          {"unit-log", ".log", 1}}};

inline const std::string samples_folder = SOURCE_DIR "/tests/records/samples";

inline std::string sample_text(const std::string& name) {
  std::ifstream file(samples_folder + "/" + name, std::ios::binary);
  INFO(samples_folder << "/" << name);
  REQUIRE(file);
  return {std::istreambuf_iterator<char>(file), {}};
}

inline const SampleKind& sample_kind(const std::string& name) {
  const auto found = std::find_if(sample_kinds.begin(), sample_kinds.end(),
                                  [&](const SampleKind& kind) { return kind.name == name; });
  INFO("kind of record " << name);
  REQUIRE(found != sample_kinds.end());
  return *found;
}

/// Every version of a kind from 1 on; that one is missing is a failure.
inline std::map<int, std::string> versions_of(const std::string& name) {
  const SampleKind& kind = sample_kind(name);
  std::map<int, std::string> all;
  for (int version = 1; version <= kind.newest; ++version)
    all[version] = sample_text(name + "-" + std::to_string(version) + kind.ending);
  return all;
}

inline std::string newest_of(const std::string& name) {
  return versions_of(name).rbegin()->second;
}

/// Fails where what is written now is not as the newest sample has it; the text is then left in the build
/// folder.
inline void is_newest(const std::string& name, const std::string& written, bool as_newest) {
  if (as_newest) return;
  const SampleKind& kind = sample_kind(name);
  const std::string left = std::string(BINARY_DIR) + "/record-" + kind.name + kind.ending;
  std::ofstream(left, std::ios::binary) << written;
  FAIL_CHECK("records of kind " << name << " are written otherwise than in samples/" << name << "-"
                                << kind.newest << kind.ending
                                << ". If that is meant, see that this one is still read, keep " << left
                                << " as number " << kind.newest + 1
                                << ", and add it to SHA256SUMS there and to tests/support/record_samples.h");
}

inline void is_newest(const std::string& name, const std::string& written) {
  is_newest(name, written, written == newest_of(name));
}

/// How a kind of record is looked at for what its reader does without.
struct SampleReader {
  std::string kind;
  std::function<std::set<std::string>(const std::string& text)> members;  ///< names of all that it holds
  std::function<std::string(const std::string& text, const std::string& member)> without;
  std::function<bool(const std::string& text)> takes;
  /// What it does without though no version is known by lacking it.
  std::set<std::string> in_every_version;
};

/// A record without a member that is taken all the same is one of another version: a sample has to lack it,
/// or else it has to be listed as what is in every version.
inline void accepts_no_more_than_samples(const SampleReader& reader) {
  const auto all = versions_of(reader.kind);
  const std::string& newest = all.rbegin()->second;
  REQUIRE(reader.takes(newest));
  for (const std::string& member : reader.members(newest)) {
    INFO(reader.kind << " without `" << member << "`");
    const bool in_all = std::all_of(all.begin(), all.end(), [&](const auto& version) {
      return reader.members(version.second).count(member) > 0;
    });
    const bool needless = reader.takes(reader.without(newest, member));
    const bool listed = reader.in_every_version.count(member) > 0;
    if (listed) {
      CHECK((needless && in_all));
    } else if (needless) {
      // No sample lacks it: one of the version before is missing.
      CHECK_FALSE(in_all);
    }
  }
}

/// Which numbers of a version are taken of a record, by `with`, which writes another number into it, and
/// which numbers samples have, by `number_in`.
inline void numbers_have_samples(const std::string& kind,
                                 const std::function<std::string(const std::string&, int)>& with,
                                 const std::function<int(const std::string&)>& number_in,
                                 const std::function<bool(const std::string&)>& takes) {
  std::set<int> of_samples;
  const auto all = versions_of(kind);
  for (const auto& [version, text] : all) of_samples.insert(number_in(text));
  for (int number = 0; number < 32; ++number) {
    INFO(kind << " of version " << number);
    const bool taken = std::any_of(all.begin(), all.end(),
                                   [&](const auto& version) { return takes(with(version.second, number)); });
    CHECK(taken == (of_samples.count(number) > 0));
  }
}

}  // namespace vergeset::test
