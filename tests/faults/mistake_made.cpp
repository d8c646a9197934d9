#include "records/mistake.h"

namespace vergeset::records {

// Part of the build in which mistakes can be made, which asks for it at every turn.
Mistake mistake = Mistake::none;

}  // namespace vergeset::records
