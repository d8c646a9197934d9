#pragma once

#include <map>
#include <set>
#include <string>

#include "records/disk.h"

namespace vergeset::records {

/// Records that nobody is to keep: in memory, gone with the object. A rehearsal writes its journal, its
/// snapshots and its logs here, so that it leaves nothing on disk and waits for none.
class ScratchDisk : public Disk {
 public:
  bool make_folder(const std::string& path) override;
  void append(const std::string& path, std::string_view octets, bool durable) override;
  using Disk::write_whole;
  void write_whole(const std::string& path, std::string_view octets, Durable durable) override;
  void sync_folder(const std::string& path) override;
  void sync_all() override;
  std::optional<std::string> read(const std::string& path) const override;
  std::vector<std::string> list(const std::string& path) const override;

 private:
  std::map<std::string, std::string> files_;
  std::set<std::string> folders_;
};

}  // namespace vergeset::records
