#include "records/thinning.h"

#include <algorithm>

#include "records/audit_record.h"
#include "records/change_record.h"
#include "records/clock.h"

namespace vergeset::records {

namespace {

constexpr std::int64_t day_ms = 86400000;

bool is_older(const std::string& when, const std::optional<int>& days, std::int64_t now) {
  const auto at = milliseconds_of(when);
  return days && at && *at < now - *days * day_ms;
}

class Thinning {
 public:
  Thinning(FolderDisk& disk, const Ages& ages, std::int64_t now, bool really)
      : disk_(disk), ages_(ages), now_(now), really_(really) {}

  Thinned take() {
    thin_audits();
    if (ages_.snapshots) thin_snapshots();
    if (ages_.logs) thin_logs();
    return std::move(out_);
  }

 private:
  void thin_audits() {
    constexpr std::size_t always_kept = 2;
    std::vector<std::string> paths = all_audits(disk_);
    paths.resize(paths.size() - std::min(paths.size(), always_kept));
    for (const std::string& path : paths) thin_audit(path);
  }

  void thin_audit(const std::string& path) {
    const auto text = disk_.read(path);
    if (!text) return;
    const auto head = read_audit_head(*text);
    if (!head) {
      out_.left.push_back(path + ": " + head.problem());
    } else if (is_older(head->begun, ages_.nights, now_)) {
      ++out_.audits_gone;
      out_.octets += text->size();
      if (really_) disk_.remove(path);
    } else if (head->cut.empty() && is_older(head->begun, ages_.audits, now_)) {
      cut_audit(path, *text, *head);
    }
  }

  void cut_audit(const std::string& path, const std::string& text, AuditHead head) {
    AuditText cut;
    const auto whole = read_audit(text, [&](const AuditLine& line) {
      AuditedUnit unit;
      unit.unit = line.unit;
      unit.verdict = line.verdict;
      cut.add(unit);
    });
    if (!whole) {
      out_.left.push_back(path + ": " + whole.problem());
      return;
    }
    head.cut = stamp(now_);
    const std::string shorter = cut.under(head);
    ++out_.audits_cut;
    out_.octets += text.size() - std::min(text.size(), shorter.size());
    if (really_) disk_.write_whole(path, shorter);
  }

  /// A change whose record cannot be read may be one that has not ended.
  void thin_snapshots() {
    for (const int number : change_numbers(disk_)) {
      const auto change = find_change(disk_, number);
      if (!change) {
        out_.left.push_back(change_path(number, "change.yaml") + ": no record of a change");
      } else if (!change->ended.empty() && is_older(change->ended, ages_.snapshots, now_)) {
        thin_change("changes/" + change_name(number));
      }
    }
  }

  void thin_change(const std::string& folder) {
    bool any = false;
    for (const std::string& name : disk_.list(folder)) {
      if (!name.ends_with(".snapshot.yaml") && !name.ends_with(".left.yaml")) continue;
      any = true;
      out_.octets += disk_.read(folder + "/" + name).value_or("").size();
      if (really_) disk_.remove(folder + "/" + name);
    }
    if (any) ++out_.changes;
  }

  void thin_logs() {
    for (const std::string& name : disk_.list("units")) {
      if (name.ends_with(".log")) thin_log("units/" + name);
    }
  }

  /// Lines begin with the time when they were written, oldest first.
  std::size_t end_of_old(const std::string& text) const {
    const std::string first_kept = stamp(now_ - *ages_.logs * day_ms);
    std::size_t end = 0;
    while (end < text.size()) {
      const std::string_view line = std::string_view(text).substr(end, first_kept.size());
      if (milliseconds_of(std::string(line)) && line >= first_kept) break;
      const std::size_t next = text.find('\n', end);
      if (next == std::string::npos) break;
      end = next + 1;
    }
    return end;
  }

  void thin_log(const std::string& path) {
    std::size_t lost = 0;
    const auto shorter = [&](const std::string& text) {
      lost = end_of_old(text);
      return lost == 0 ? std::optional<std::string>() : text.substr(lost);
    };
    if (!really_) {
      shorter(disk_.read(path).value_or(""));
    } else if (!disk_.rewrite(path, shorter)) {
      out_.left.push_back(path + ": somebody is writing to it");
      return;
    }
    if (lost == 0) return;
    ++out_.logs;
    out_.octets += lost;
  }

  FolderDisk& disk_;
  const Ages& ages_;
  std::int64_t now_;
  bool really_;
  Thinned out_;
};

}  // namespace

Thinned thin(FolderDisk& disk, const Ages& ages, std::int64_t now, bool really) {
  return Thinning(disk, ages, now, really).take();
}

}  // namespace vergeset::records
