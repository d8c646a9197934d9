#include "cli/secrecy.h"

#include <sys/prctl.h>
#include <sys/resource.h>

namespace vergeset::cli {

void keep_memory_private() {
  prctl(PR_SET_DUMPABLE, 0, 0, 0, 0);
  const rlimit none{0, 0};
  setrlimit(RLIMIT_CORE, &none);
}

}  // namespace vergeset::cli
