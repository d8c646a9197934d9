#pragma once

namespace vergeset::cli {

/// Ctrl-C (and SIGTERM, and the end of the terminal) while nothing is being set: the program ends at
/// once, with status 6.
void end_on_interrupt();

/// From now on it is noted, and said each time: units in hand finish, and nothing else is begun. A reader of
/// our output that goes away (`| head`) does not end a change half way either.
void note_interrupt();
bool interrupt_noted();

}  // namespace vergeset::cli
