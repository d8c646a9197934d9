#include "fleet/text_file.h"

#include <filesystem>
#include <fstream>
#include <iterator>

namespace vergeset::fleet {

Result<std::string> read_text_file(const std::string& path) {
  constexpr std::uintmax_t most = 64U * 1024 * 1024;
  std::error_code error;
  const auto status = std::filesystem::status(path, error);
  if (!std::filesystem::exists(status)) return Problem{"is missing"};
  if (!std::filesystem::is_regular_file(status)) return Problem{"is no file"};
  if (std::filesystem::file_size(path, error) > most) return Problem{"is larger than 64 MiB; split it"};
  std::ifstream stream(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(stream), {}};
  if (!stream.is_open() || stream.bad()) return Problem{"cannot be read; check who may read it"};
  return text;
}

}  // namespace vergeset::fleet
