#pragma once

#include <cstdint>
#include <optional>

#include "watch.h"

namespace vergeset::faults {

/// One change of keys, all of it from its seed: users and their keys, what goes wrong; after a kill,
/// recovery; then the faults cease and a second change follows. The first promise that was broken, or
/// nothing:
///
///  1  what is said of a unit is true: `settled`, its new keys read and write, what opened it before does
///  not,
///     and no other user is another; `restored`, its users are as they were
///  2  whenever a SET of ours has changed a unit's users, keys that open it are on stable storage
///  3  a SET leaves when its line in the journal is on stable storage, not before
///  4  no key stands in any record
///  7  with the faults gone, a second change settles
///  8  after a kill, recovery ends every unit and says which keys open it; done again it does nothing
/// 10  where one thing goes wrong once on a network that loses nothing, a unit is settled or restored
std::optional<Broken> run_keys(std::uint64_t seed, bool tell);

}  // namespace vergeset::faults
