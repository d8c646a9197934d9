#pragma once

#include <filesystem>
#include <string>

/// The octets of a .hex file: hex digits, blanks free, `#` starts a comment. Read here apart from the
/// product's own reader, which these checks should not have to trust. Throws what is wrong.
std::string hex_file(const std::filesystem::path& file);

/// The message in a J2735 MessageFrame with this id: what stands behind the id and the length. Throws
/// when the id is another or the length is not that of the rest.
std::string message_in(const std::string& frame, int message_id);
