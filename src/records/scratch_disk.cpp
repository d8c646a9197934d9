#include "records/scratch_disk.h"

namespace vergeset::records {

bool ScratchDisk::make_folder(const std::string& path) {
  return folders_.insert(path).second;
}

void ScratchDisk::append(const std::string& path, std::string_view octets, bool) {
  files_[path] += octets;
}

void ScratchDisk::write_whole(const std::string& path, std::string_view octets, Durable) {
  files_[path] = octets;
}

void ScratchDisk::sync_folder(const std::string&) {}

void ScratchDisk::sync_all() {}

std::optional<std::string> ScratchDisk::read(const std::string& path) const {
  const auto found = files_.find(path);
  return found == files_.end() ? std::nullopt : std::optional(found->second);
}

std::vector<std::string> ScratchDisk::list(const std::string& path) const {
  const std::string front = path.empty() ? path : path + "/";
  std::set<std::string> names;
  const auto add = [&](const std::string& whole) {
    if (whole.starts_with(front))
      names.insert(whole.substr(front.size(), whole.find('/', front.size()) - front.size()));
  };
  for (const auto& [name, text] : files_) add(name);
  for (const std::string& name : folders_) add(name);
  return {names.begin(), names.end()};
}

}  // namespace vergeset::records
