// Writes the sample sheets as pages into a folder, for acceptance_print.sh.
#include <filesystem>
#include <fstream>
#include <iostream>

#include "acceptance_sample.h"

using namespace vergeset;

int main(int argc, char** argv) {
  if (argc != 2) {
    std::cerr << "usage: acceptance_sheets FOLDER\n";
    return 2;
  }
  const std::filesystem::path folder = argv[1];
  std::filesystem::create_directories(folder);
  const auto write = [&](const char* name, const report::Acceptance& sheet) {
    std::ofstream(folder / (std::string(name) + ".html"), std::ios::binary) << report::acceptance_page(sheet);
    std::ofstream(folder / (std::string(name) + ".txt"), std::ios::binary)
        << report::acceptance_text({}, sheet);
  };
  write("ordinary", tests::ordinary_sheet());
  write("worst", tests::worst_sheet());
  write("hostile", tests::hostile_sheet());
  write("empty", {});
}
