#pragma once

namespace vergeset::cli {

/// From now on this process leaves no core dump and shows its memory to no debugger of another user:
/// called before anything else.
void keep_memory_private();

}  // namespace vergeset::cli
