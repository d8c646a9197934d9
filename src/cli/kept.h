#pragma once

#include <string>
#include <vector>

#include "cli/common.h"
#include "records/change_record.h"
#include "records/disk.h"
#include "smi/result.h"

namespace vergeset::cli {

/// Why no records can be read where they are said to be; empty where they can. A fleet that nothing was
/// done with has no folder of them yet; one that was named with --records has to be there.
std::string no_records(const Common& common);

/// A path in the records as the user sees it.
std::string shown(const records::FolderDisk& disk, const std::string& path);

/// The change with the number that was given. A problem where there is none, or where its record cannot
/// be read.
Result<records::ChangeRecord> change_numbered(const records::FolderDisk& disk, const std::string& number);

/// Every change whose record is there and cannot be read: its path and what is wrong.
std::vector<std::string> damaged_changes(const records::FolderDisk& disk);

}  // namespace vergeset::cli
