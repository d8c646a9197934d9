#include "cli/version.h"

#include <dlfcn.h>
#include <fmt/format.h>
#include <gnu/libc-version.h>
#include <link.h>
#include <openssl/crypto.h>

#include <GeographicLib/Config.h>
#include <CLI/Version.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string_view>

#include "snmp/library_version.h"

namespace vergeset::cli {

namespace {

constexpr std::string_view versions_follow = ".so.";

struct Sought {
  std::string_view name;  ///< "libfmt.so"
  std::string path;
};

int take_if_sought(dl_phdr_info* loaded, std::size_t /*size*/, void* sought) {
  auto& one = *static_cast<Sought*>(sought);
  const std::string_view path = loaded->dlpi_name;
  if (path.substr(path.rfind('/') + 1).substr(0, one.name.size()) != one.name) return 0;
  one.path = path;
  return 1;
}

/// "9.1.0" of libfmt.so.9, which leads to libfmt.so.9.1.0; empty where its file has no version in its name.
std::string version_of_file(std::string_view library) {
  Sought sought{library, {}};
  ::dl_iterate_phdr(take_if_sought, &sought);
  std::error_code error;
  const std::string file = std::filesystem::canonical(sought.path, error).filename().string();
  const auto at = file.find(versions_follow);
  return error || at == std::string::npos ? std::string() : file.substr(at + versions_follow.size());
}

std::string or_built_with(const std::string& loaded, const std::string& built_with) {
  return loaded.empty() ? built_with + ", as built with" : loaded;
}

/// It takes the place of malloc without being named anywhere; "" where it is not there.
std::string mimalloc_version() {
  using Version = int (*)();
  const auto version = reinterpret_cast<Version>(::dlsym(RTLD_DEFAULT, "mi_version"));
  if (version == nullptr) return {};
  const int number = version();  // 209 is 2.0.9
  return fmt::format("{}.{}.{}", number / 100, number / 10 % 10, number % 10);
}

std::string line(std::string_view library, const std::string& version) {
  return version.empty() ? std::string() : fmt::format("  {:<13}   {}\n", library, version);
}

}  // namespace

std::string version_text() {
  const std::string fmt_built =
      fmt::format("{}.{}.{}", FMT_VERSION / 10000, FMT_VERSION / 100 % 100, FMT_VERSION % 100);
  const std::string json_version = fmt::format("{}.{}.{}", NLOHMANN_JSON_VERSION_MAJOR,
                                               NLOHMANN_JSON_VERSION_MINOR, NLOHMANN_JSON_VERSION_PATCH);
  std::string text = "vergeset " VERGESET_VERSION "\n";
  text += line("net-snmp", snmp::library_version());
  text += line("OpenSSL", ::OpenSSL_version(OPENSSL_VERSION_STRING));
  text += line("yaml-cpp", or_built_with(version_of_file("libyaml-cpp.so"), VERGESET_YAML_VERSION));
  text += line("fmt", or_built_with(version_of_file("libfmt.so"), fmt_built));
  text += line("GeographicLib", GEOGRAPHICLIB_VERSION_STRING ", as built with");
  text += line("mimalloc", mimalloc_version());
  text += line("C library", ::gnu_get_libc_version());
  text += line("CLI11", CLI11_VERSION ", part of the program");
  text += line("nlohmann-json", json_version + ", part of the program");
  return text;
}

}  // namespace vergeset::cli
