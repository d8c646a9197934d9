#pragma once

#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <string>

namespace vergeset::test {

/// A folder with these files that is gone with the test.
class FleetFolder {
 public:
  explicit FleetFolder(const std::map<std::string, std::string>& files) {
    std::string name = std::filesystem::temp_directory_path() / "vergeset-test-XXXXXX";
    path_ = ::mkdtemp(name.data());
    for (const auto& [file, text] : files) write(file, text);
  }
  ~FleetFolder() {
    std::error_code error;
    std::filesystem::remove_all(path_, error);
  }
  FleetFolder(const FleetFolder&) = delete;
  FleetFolder& operator=(const FleetFolder&) = delete;

  void write(const std::string& file, const std::string& text) const {
    const std::filesystem::path full = path_ / file;
    std::filesystem::create_directories(full.parent_path());
    std::ofstream(full, std::ios::binary) << text;
  }
  std::string path() const { return path_.string(); }

 private:
  std::filesystem::path path_;
};

}  // namespace vergeset::test
