#pragma once

#include <map>
#include <set>
#include <string>

#include "records/disk.h"

namespace vergeset::test {

/// Records in memory, and a disk that is full when a test says so.
class MemoryDisk : public records::Disk {
 public:
  std::map<std::string, std::string> files;
  std::set<std::string> folders;
  int writes_left = -1;  ///< fails when it gets to 0; -1: never

  bool make_folder(const std::string& path) override { return folders.insert(path).second; }
  void append(const std::string& path, std::string_view octets, bool) override {
    spend();
    files[path] += octets;
  }
  using Disk::write_whole;
  void write_whole(const std::string& path, std::string_view octets, records::Durable) override {
    spend();
    files[path] = octets;
  }
  void sync_folder(const std::string&) override {}
  void sync_all() override {}
  std::optional<std::string> read(const std::string& path) const override {
    const auto found = files.find(path);
    if (found == files.end()) return std::nullopt;
    return found->second;
  }
  std::vector<std::string> list(const std::string& path) const override {
    std::set<std::string> names;
    const auto add = [&](const std::string& full) {
      if (full.rfind(path + "/", 0) != 0) return;
      const std::string rest = full.substr(path.size() + 1);
      names.insert(rest.substr(0, rest.find('/')));
    };
    for (const auto& [name, text] : files) add(name);
    for (const std::string& name : folders) add(name);
    return {names.begin(), names.end()};
  }

 private:
  void spend() {
    if (writes_left == 0) throw records::DiskError("no space left on device");
    if (writes_left > 0) --writes_left;
  }
};

}  // namespace vergeset::test
