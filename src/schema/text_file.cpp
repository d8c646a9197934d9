#include "schema/text_file.h"

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <sstream>

namespace vergeset {

Result<std::string> read_text_file(const std::string& path) {
  constexpr std::uintmax_t most = std::uintmax_t{64} * 1024 * 1024;
  std::error_code error;
  const auto status = std::filesystem::status(path, error);
  if (!std::filesystem::exists(status)) return Problem{"is missing"};
  if (!std::filesystem::is_regular_file(status)) return Problem{"is no file"};
  if (std::filesystem::file_size(path, error) > most) return Problem{"is larger than 64 MiB; split it"};
  std::ifstream stream(path, std::ios::binary);
  std::ostringstream text;
  // An empty file would make << fail; an iterator would throw where the disk does not give the octets.
  if (stream.peek() != std::ifstream::traits_type::eof()) text << stream.rdbuf();
  if (!stream.is_open() || stream.bad() || text.fail())
    return Problem{"cannot be read; check who may read it"};
  return std::move(text).str();
}

}  // namespace vergeset
