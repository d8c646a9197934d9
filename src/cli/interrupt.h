#pragma once

namespace vergeset::cli {

/// Ctrl-C (and SIGTERM) while nothing is being set: the program ends at once, with status 6.
void end_on_interrupt();

/// From now on it is noted, and said once: units in hand finish, and nothing else is begun.
void note_interrupt();
bool interrupt_noted();

}  // namespace vergeset::cli
