#include "fault_disk.h"

#include <algorithm>

namespace vergeset::faults {

namespace {

bool is_log(const std::string& path) {
  return path.rfind("units/", 0) == 0;
}

std::string folder_of(const std::string& path) {
  return path.substr(0, path.rfind('/'));
}

}  // namespace

bool FaultDisk::counts(const std::string& path) const {
  return !dead_ && !is_log(path);
}

std::optional<DiskTrouble> FaultDisk::trouble() {
  for (const DiskTrouble& one : troubles) {
    if (writes_ >= one.at_write && writes_ < one.at_write + one.writes) return one;
  }
  return std::nullopt;
}

void FaultDisk::fail(const std::string& path, const char* why) {
  failed_ = true;
  trace_.say("disk: {}: {}", path, why);
  throw records::DiskError("cannot write " + path + ": " + why);
}

void FaultDisk::maybe_killed(bool after) {
  if (kill_at_write == 0 || writes_ != kill_at_write) return;
  if (!after) kill_after_ = dice_.happens(0.5);
  if (kill_after_ != after) return;
  kill_at_write = 0;
  dead_ = true;
  throw Killed{};
}

void FaultDisk::before(const std::string& path) {
  ++writes_;
  if (takes_time) takes_time();
  maybe_killed(false);
  if (const auto one = trouble(); one && one->kind == DiskTrouble::Kind::full) {
    fail(path, "No space left on device");
  }
}

void FaultDisk::sync(Contents& contents) {
  contents.synced = contents.octets.size();
}

bool FaultDisk::make_folder(const std::string& path) {
  if (dead_) return folders_.insert(path).second;
  before(path);
  if (const auto one = trouble(); one && one->kind != DiskTrouble::Kind::sync_fails) fail(path, "I/O error");
  const bool made = folders_.insert(path).second;
  maybe_killed(true);
  return made;
}

void FaultDisk::append(const std::string& path, std::string_view octets, bool durable) {
  if (dead_) return;
  if (counts(path)) before(path);
  const auto one = trouble();
  if (!counts(path) && one && one->kind == DiskTrouble::Kind::full) fail(path, "No space left on device");
  Name& name = names_[path];
  if (!name.now) name.now = std::make_shared<Contents>();
  const std::size_t begin = name.now->octets.size();
  const bool fails = counts(path) && one.has_value();
  if (fails && one->kind == DiskTrouble::Kind::fails) fail(path, "I/O error");
  if (fails && one->kind == DiskTrouble::Kind::tears) {
    name.now->octets += octets.substr(0, dice_.below(octets.size() + 1));
    fail(path, "I/O error in the middle of a write");
  }
  name.now->octets += octets;
  if (watcher) watcher(path, std::string(octets));
  if (durable) {
    if (fails) {
      name.now->holes.emplace_back(begin, name.now->octets.size());
      fail(path, "I/O error at a sync");
    }
    sync(*name.now);
    name.on_disk = name.now;
  }
  if (counts(path)) maybe_killed(true);
}

void FaultDisk::write_whole(const std::string& path, std::string_view octets, records::Durable durable) {
  if (dead_) return;
  before(path);
  if (const auto one = trouble()) fail(path, "I/O error");
  Name& name = names_[path];
  name.now = std::make_shared<Contents>();
  name.now->octets = octets;
  trace_.say("disk: {} written whole", path);
  if (durable != records::Durable::no) sync(*name.now);
  if (durable == records::Durable::whole) name.on_disk = name.now;
  maybe_killed(true);
}

void FaultDisk::sync_folder(const std::string& path) {
  if (dead_) return;
  before(path);
  if (const auto one = trouble()) fail(path, "I/O error at a sync");
  for (auto& [name, held] : names_) {
    if (folder_of(name) == path) held.on_disk = held.now;
  }
  maybe_killed(true);
}

void FaultDisk::sync_all() {
  if (dead_) return;
  before("records");
  if (const auto one = trouble()) fail("records", "I/O error at a sync");
  for (auto& [name, held] : names_) {
    sync(*held.now);
    held.on_disk = held.now;
  }
  maybe_killed(true);
}

std::optional<std::string> FaultDisk::read(const std::string& path) const {
  const auto found = names_.find(path);
  if (found == names_.end()) return std::nullopt;
  return found->second.now->octets;
}

std::vector<std::string> FaultDisk::list(const std::string& path) const {
  std::set<std::string> all;
  const auto add = [&](const std::string& full) {
    if (full.rfind(path + "/", 0) != 0) return;
    const std::string rest = full.substr(path.size() + 1);
    all.insert(rest.substr(0, rest.find('/')));
  };
  for (const auto& [name, held] : names_) add(name);
  for (const std::string& name : folders_) add(name);
  return {all.begin(), all.end()};
}

const std::string* FaultDisk::durable(const std::string& path) const {
  const auto found = names_.find(path);
  if (found == names_.end() || !found->second.on_disk) return nullptr;
  const Contents& contents = *found->second.on_disk;
  if (contents.synced == contents.octets.size() && contents.holes.empty()) return &contents.octets;
  std::string& seen = found->second.seen;
  seen = contents.octets.substr(0, contents.synced);
  for (const auto& [begin, end] : contents.holes) {
    for (std::size_t i = begin; i < std::min(end, seen.size()); ++i) seen[i] = '\0';
  }
  return &seen;
}

std::map<std::string, std::string> FaultDisk::records() const {
  std::map<std::string, std::string> all;
  for (const auto& [path, name] : names_) {
    if (!is_log(path)) all[path] = name.now->octets;
  }
  return all;
}

/// What was synced, and of the rest what chance leaves.
std::string FaultDisk::after_power_cut(const Contents& contents) {
  std::size_t left = contents.synced;
  const std::size_t rest = contents.octets.size() - contents.synced;
  if (rest > 0) left += dice_.happens(0.3) ? rest : dice_.below(rest + 1);
  std::string octets = contents.octets.substr(0, left);
  for (const auto& [begin, end] : contents.holes) {
    for (std::size_t i = begin; i < std::min(end, octets.size()); ++i) octets[i] = '\0';
  }
  return octets;
}

void FaultDisk::program_begins(bool power_was_cut) {
  dead_ = false;
  kill_at_write = 0;
  if (!power_was_cut) return;
  std::map<std::string, Name> left;
  for (auto& [path, name] : names_) {
    // A rename that was not synced may have happened or not.
    const bool as_now = name.now == name.on_disk || dice_.happens(0.5);
    const std::shared_ptr<Contents>& survivor = as_now ? name.now : name.on_disk;
    if (!survivor) continue;
    auto contents = std::make_shared<Contents>();
    contents->octets = after_power_cut(*survivor);
    contents->synced = contents->octets.size();
    left[path] = Name{contents, contents, {}};
  }
  names_ = std::move(left);
}

}  // namespace vergeset::faults
