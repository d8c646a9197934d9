#pragma once

#include <sys/types.h>

#include <string>
#include <system_error>

namespace vergeset::records {

/// Records tell how a fleet is set and who sets it: they are for their owner alone, whatever the umask. The
/// exception are the locks of units (unit_lock.h), which all users of a machine share and which hold no more
/// than who has a unit in hand.
inline constexpr mode_t private_file = 0600;
inline constexpr mode_t private_folder = 0700;

/// Makes a folder and those above it, as far as they are not there. Folders that are there stay as they are.
std::error_code make_private_folders(const std::string& path);

/// What others than its owner may do in a folder that is there already: "records can be read by others (mode
/// 0755)..."; empty where they may do nothing. It is not changed: its owner may have opened it on purpose.
std::string open_to_others(const std::string& folder);

}  // namespace vergeset::records
