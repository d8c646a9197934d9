#pragma once

#include <stdlib.h>

#include <filesystem>
#include <fstream>
#include <stdexcept>
#include <string>

namespace vergeset::schema {

/// A folder of files that a test writes, gone when the test is.
class Scratch {
 public:
  Scratch() {
    std::string name = (std::filesystem::temp_directory_path() / "vergeset-schema-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder for the test");
    path_ = name;
  }
  ~Scratch() { std::filesystem::remove_all(path_); }
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;

  std::string path(const std::string& name) const { return (path_ / name).string(); }

  std::string write(const std::string& name, const std::string& text) const {
    std::filesystem::create_directories((path_ / name).parent_path());
    std::ofstream(path_ / name, std::ios::binary) << text;
    return path(name);
  }

 private:
  std::filesystem::path path_;
};

/// A text in which @@ marks the place where a fault is expected.
struct Marked {
  std::string text;
  int line = 0;
  int column = 0;

  explicit Marked(std::string marked) : text(std::move(marked)) {
    const std::size_t at = text.find("@@");
    if (at == std::string::npos) throw std::runtime_error("no @@ in the text of the test");
    text.erase(at, 2);
    line = 1;
    column = 1;
    for (std::size_t i = 0; i < at; ++i) {
      column = text[i] == '\n' ? 1 : column + 1;
      if (text[i] == '\n') ++line;
    }
  }

  std::string place(const std::string& file) const {
    return file + ":" + std::to_string(line) + ":" + std::to_string(column);
  }
};

}  // namespace vergeset::schema
