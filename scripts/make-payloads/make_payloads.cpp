#include <fmt/format.h>

#include <cstdio>
#include <exception>
#include <filesystem>
#include <fstream>
#include <map>
#include <string>

#include "intersections.h"
#include "notices.h"

/// Writes the UPER messages that the descriptions in a folder ask for, one .hex file each.

namespace {

using namespace vergeset::payloads;

constexpr const char* usage =
    "Usage: make-payloads [--check] FOLDER\n\n"
    "Makes UNIT-map.hex for each intersection of FOLDER/intersections.yaml, and NAME.hex for each notice\n"
    "of FOLDER/notices.yaml. With --check writes nothing, and says which files are not as they would be\n"
    "made (exit status 3).\n";

constexpr std::size_t most_octets = 2302;  // that a message table of either standard takes

std::string hex_file(const std::string& about, const std::string& from, const std::string& message) {
  std::string text = fmt::format(
      "# {}\n# SAE J2735 MessageFrame in UPER, {} octets. Made by make-payloads from {}; invented, for "
      "no real road.\n",
      about, message.size(), from);
  for (std::size_t i = 0; i < message.size(); ++i) {
    text += fmt::format("{:02x}{}", static_cast<unsigned char>(message[i]),
                        i % 32 == 31 || i + 1 == message.size() ? "\n" : "");
  }
  return text;
}

std::map<std::string, std::string> make_files(const std::filesystem::path& folder) {
  std::map<std::string, std::string> files;
  const auto add = [&](const std::string& name, const std::string& about, const std::string& from,
                       const std::string& message) {
    if (message.size() > most_octets) {
      throw std::runtime_error(
          fmt::format("{} is {} octets, and a unit takes {} at most; leave out lanes or nodes", name,
                      message.size(), most_octets));
    }
    files[name + ".hex"] = hex_file(about, from, message);
  };
  for (const auto& [unit, map] : read_intersections(folder / "intersections.yaml")) {
    const Intersection& at = map.intersections.front();
    add(unit + "-map", fmt::format("MAP of {}, {}: {} lanes.", unit, at.name, at.lanes.size()),
        "intersections.yaml", encode(map));
  }
  for (const auto& [name, notice] : read_notices(folder / "notices.yaml")) {
    add(name, fmt::format("Traveller information \"{}\".", name), "notices.yaml", encode(notice));
  }
  return files;
}

std::string content_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

int run(bool check, const std::filesystem::path& folder) {
  int differing = 0;
  for (const auto& [name, text] : make_files(folder)) {
    if (content_of(folder / name) == text) {
      continue;
    }
    ++differing;
    fmt::print("{} {}\n", name, check ? "is not as make-payloads would write it" : "written");
    if (!check) {
      std::ofstream out(folder / name, std::ios::binary);
      out << text;
      if (!out.flush()) {
        throw std::runtime_error(fmt::format("cannot write {}", (folder / name).string()));
      }
    }
  }
  return check && differing > 0 ? 3 : 0;
}

}  // namespace

int main(int argc, char** argv) {
  const bool check = argc > 1 && std::string(argv[1]) == "--check";
  if (argc != (check ? 3 : 2) || std::string(argv[argc - 1]).starts_with("-")) {
    const bool asked = argc == 2 && std::string(argv[1]) == "--help";
    fmt::print(asked ? stdout : stderr, "{}", usage);
    return asked ? 0 : 2;
  }
  try {
    return run(check, argv[argc - 1]);
  } catch (const std::exception& fault) {
    fmt::print(stderr, "{}\n", fault.what());
    return 2;
  }
}
