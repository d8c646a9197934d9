#include "records/journal.h"

#include <sstream>

namespace vergeset::records {

void Journal::write(const Json& event) {
  Json line{{"at", stamp(clock_.now())}};
  line.update(event);
  disk_.append(path_, line.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n", true);
}

JournalText read_journal(const std::string& text) {
  JournalText journal;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    Json event = Json::parse(line, nullptr, false);
    if (event.is_discarded() || lines.eof()) {
      journal.torn = true;
    } else {
      journal.events.push_back(std::move(event));
    }
  }
  return journal;
}

}  // namespace vergeset::records
