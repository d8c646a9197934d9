#include "cli/part_audits.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "cli/load.h"
#include "cli/print.h"
#include "records/clock.h"
#include "records/disk.h"
#include "smi/words.h"

namespace vergeset::cli {

namespace {

Result<fleet::Part> part_of(const std::string& path, const std::string& part) {
  if (part == "whole") return fleet::Part{};
  if (part.empty()) {
    return Problem{path + " was kept by an earlier vergeset, which did not say of which files; audit again"};
  }
  if (part.find(" of ") != std::string::npos) {
    return Problem{fmt::format("{} was gathered from parts {}; give the audits of the parts", path, part)};
  }
  auto read = fleet::part_named(part);
  if (!read) return Problem{path + ": " + read.problem()};
  return read;
}

Result<records::AuditRecord> record_in(const std::string& path) {
  const auto text = read_file(path);
  if (!text) return Problem{text.problem()};
  auto record = records::audit_from_json(*text);
  if (!record) return Problem{path + ": " + record.problem()};
  if (!record->head.cut.empty())
    return Problem{path + " was cut to how each unit stood, because of its age: there is nothing to gather"};
  return record;
}

Result<PartAudit> audit_in(const std::string& path) {
  auto record = record_in(path);
  if (!record) return Problem{record.problem()};
  const auto part = part_of(path, record->head.part);
  if (!part) return Problem{part.problem()};
  return PartAudit{path, *part, *std::move(record)};
}

std::int64_t begun(const records::AuditRecord& record) {
  return records::milliseconds_of(record.head.begun).value_or(0);
}

std::vector<std::string> sorted(std::vector<std::string> words) {
  std::sort(words.begin(), words.end());
  return words;
}

/// Whatever the order in which its words were given.
bool same_choice(const records::AuditChoice& one, const records::AuditChoice& other) {
  return sorted(one.units) == sorted(other.units) && sorted(one.groups) == sorted(other.groups) &&
         sorted(one.models) == sorted(other.models) && sorted(one.except) == sorted(other.except);
}

bool same_parts(const PartAudit& one, const PartAudit& other) {
  return one.part.of == other.part.of && same_choice(one.record.head.choice, other.record.head.choice);
}

std::string part_text(const PartAudit& audit) {
  return audit.record.head.part == "whole" ? "an audit of all units" : "part " + audit.record.head.part;
}

/// Why two audits are no parts of one; empty where they can be.
std::string apart(const PartAudit& one, const PartAudit& other) {
  const records::AuditHead& a = one.record.head;
  const records::AuditHead& b = other.record.head;
  if (a.fleet != b.fleet) {
    return fmt::format("{} is of the fleet {}, {} is of {}", one.path, smi::shown(a.fleet), other.path,
                       smi::shown(b.fleet));
  }
  if (one.part.of != other.part.of) {
    return fmt::format("{} is {}, {} is {}", one.path, part_text(one), other.path, part_text(other));
  }
  if (same_choice(a.choice, b.choice)) return {};
  return fmt::format("{} and {} are parts of different choices of units", one.path, other.path);
}

std::string other_files(const PartAudit& one, const PartAudit& other) {
  if (one.record.head.files == other.record.head.files) return {};
  return fmt::format(
      "{} and {} were audited against different files of the fleet; audit the older part again, or leave it "
      "out "
      "(--since leaves out what began earlier)",
      one.path, other.path);
}

/// What `says` of the first audit that does not go with the one at the front; empty where all do.
template <class Says>
std::string first_against(const std::vector<PartAudit>& audits, Says says) {
  for (const PartAudit& audit : audits) {
    if (std::string why = says(audits.front(), audit); !why.empty()) return why;
  }
  return {};
}

/// The newest audit of each part in a folder of records. Audits of all units, and what was gathered here, are
/// passed over where there are parts.
class Newest {
 public:
  explicit Newest(std::int64_t since) : since_(since) {}

  /// Empty, or what is wrong with a record. Records come newest first.
  std::string look_at(const std::string& path) {
    auto record = record_in(path);
    if (!record) return record.problem();
    if (begun(*record) < since_) return {};
    const auto part = part_of(path, record->head.part);
    if (!part) return {};
    add({path, *part, *std::move(record)});
    return {};
  }

  /// No older record can add to these.
  bool complete() const { return !parts_.empty() && parts_.size() == parts_.front().part.of; }

  std::vector<PartAudit> take() && {
    if (parts_.empty() && whole_) parts_.push_back(*std::move(whole_));
    return std::move(parts_);
  }

 private:
  void add(PartAudit audit) {
    if (audit.record.head.part == "whole") {
      if (!whole_) whole_ = std::move(audit);
      return;
    }
    if (!parts_.empty() && !same_parts(parts_.front(), audit)) return;
    const bool known = std::any_of(parts_.begin(), parts_.end(),
                                   [&](const PartAudit& one) { return one.part == audit.part; });
    if (!known) parts_.push_back(std::move(audit));
  }

  std::int64_t since_;
  std::vector<PartAudit> parts_;
  std::optional<PartAudit> whole_;
};

/// Names of records begin with the time that they began: one before `since`, to the second.
bool is_before(const std::string& path, std::int64_t since) {
  const std::string name = std::filesystem::path(path).filename();
  return name.substr(0, 19) < records::file_stamp(since).substr(0, 19);
}

Result<std::vector<PartAudit>> newest_in(const std::string& folder, std::int64_t since) {
  const records::FolderDisk disk(folder);
  const std::vector<std::string> paths = records::all_audits(disk);
  Newest newest(since);
  for (auto path = paths.rbegin(); path != paths.rend() && !newest.complete(); ++path) {
    if (is_before(*path, since)) break;
    if (std::string problem = newest.look_at(folder + "/" + *path); !problem.empty()) return Problem{problem};
  }
  auto found = std::move(newest).take();
  if (found.empty()) print_aside(fmt::format("note: no audit to gather in {}/audits\n", folder));
  return found;
}

Result<std::vector<PartAudit>> named_by(const std::string& path, std::int64_t since) {
  std::error_code error;
  if (std::filesystem::is_directory(path, error)) return newest_in(path, since);
  auto audit = audit_in(path);
  if (!audit) return Problem{audit.problem()};
  if (begun(audit->record) >= since) return std::vector<PartAudit>{*std::move(audit)};
  print_aside(fmt::format("note: {} is left out: it began {}\n", path, audit->record.head.begun));
  return std::vector<PartAudit>();
}

void say_taken(const PartAudit& taken, const PartAudit& left) {
  print_aside(fmt::format("note: {} is there twice; taken is {}, begun {}, and not {}, begun {}\n",
                          part_text(taken), taken.path, taken.record.head.begun, left.path,
                          left.record.head.begun));
}

/// Sorted by part, each once.
std::vector<PartAudit> newest_of_each(std::vector<PartAudit> audits) {
  std::stable_sort(audits.begin(), audits.end(), [](const PartAudit& one, const PartAudit& other) {
    if (one.part.number != other.part.number) return one.part.number < other.part.number;
    return begun(one.record) > begun(other.record);
  });
  std::vector<PartAudit> taken;
  for (PartAudit& audit : audits) {
    if (taken.empty() || !(taken.back().part == audit.part)) {
      taken.push_back(std::move(audit));
    } else {
      say_taken(taken.back(), audit);
    }
  }
  return taken;
}

}  // namespace

std::optional<std::int64_t> time_given(const std::string& text) {
  const std::string finest = "0000-00-00T00:00:00.000";
  const std::string given = !text.empty() && text.back() == 'Z' ? text.substr(0, text.size() - 1) : text;
  // Up to the day, the minute, the second or the millisecond.
  const std::size_t size = given.size();
  if (size != 10 && size != 16 && size != 19 && size != finest.size()) return std::nullopt;
  return records::milliseconds_of(given + finest.substr(given.size()) + "Z");
}

Result<std::vector<PartAudit>> part_audits(const std::vector<std::string>& paths, std::int64_t since) {
  std::vector<PartAudit> all;
  for (const std::string& path : paths) {
    auto named = named_by(path, since);
    if (!named) return Problem{named.problem()};
    for (PartAudit& audit : *std::move(named)) all.push_back(std::move(audit));
  }
  if (all.empty()) return Problem{"there is no audit to gather"};
  if (std::string why = first_against(all, apart); !why.empty()) return Problem{why};
  all = newest_of_each(std::move(all));
  if (std::string why = first_against(all, other_files); !why.empty()) return Problem{why};
  return all;
}

}  // namespace vergeset::cli
