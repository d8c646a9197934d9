#pragma once

#include <cstdint>
#include <string>

#include "sim/store.h"

namespace vergeset::sim {

/// A unit's state on disk, one JSON object a line: first
///   {"unit":"LK-104","model":"ntcip1218-v01","boots":3}
/// then each value that can be SET, by name, row, SNMP type and exact text (smi::exact_text):
///   {"object":"rsuID","index":0,"type":"OCTET STRING","value":"4c4b2d313034"}
/// What only the unit itself writes is not kept: it comes from the factory again, or moves.
std::string state_text(const Store& store, std::uint32_t boots);

/// Puts the values of a state into a store, in place of every row there. The result is the number of
/// starts that the file counts. Problems name the line; the store is then to be thrown away.
Result<std::uint32_t> load_state(Store& store, const std::string& text, std::int64_t now);

/// Reads a whole file; the problem names it.
Result<std::string> read_file(const std::string& path);

enum class Readers { all, owner };

/// Writes a file whole under another name and renames it, so that a reader never sees half of it.
Result<bool> write_whole(const std::string& path, const std::string& text, Readers readers = Readers::all);

}  // namespace vergeset::sim
