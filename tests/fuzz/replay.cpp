// Runs files through a fuzz target, each once: replay TARGET FOLDER...
// A folder that is not there holds nothing: a target that was never broken has no crashes.

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <vector>

#include "fuzz/fuzz.h"

namespace {

namespace fs = std::filesystem;

std::map<std::string, vergeset::fuzz::Target>& targets() {
  static std::map<std::string, vergeset::fuzz::Target> all;
  return all;
}

std::vector<fs::path> files_of(const std::string& folder) {
  std::vector<fs::path> files;
  if (!fs::exists(folder)) return files;
  for (const auto& entry : fs::directory_iterator(folder)) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

std::string octets_of(const fs::path& file) {
  std::ifstream stream(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(stream), {}};
}

int usage() {
  std::fprintf(stderr, "usage: replay TARGET FOLDER...\n\nRuns each file of the folders through one of:\n");
  for (const auto& [name, target] : targets()) std::fprintf(stderr, "  %s\n", name.c_str());
  return 2;
}

}  // namespace

bool vergeset::fuzz::enlist(const char* name, Target target) {
  return targets().emplace(name, target).second;
}

int main(int count, char** words) {
  const auto target = targets().find(count < 3 ? "" : words[1]);
  if (target == targets().end()) return usage();
  std::size_t run = 0;
  for (int i = 2; i < count; ++i) {
    for (const fs::path& file : files_of(words[i])) {
      // On standard error before it runs: what breaks the target is the last file that is named.
      std::fprintf(stderr, "%s\n", file.c_str());
      target->second(octets_of(file));
      ++run;
    }
  }
  std::printf("%s: %zu inputs\n", words[1], run);
  return run == 0 ? 1 : 0;
}
