#include "records/journal.h"

#include <sstream>

#include "records/mistake.h"
#include "smi/inert.h"

namespace vergeset::records {

namespace {

/// Ends what was left of a line so that it is none, whole as it may be: nobody has acted on it.
constexpr const char* torn_off = " (torn)\n";

}  // namespace

Journal Journal::resume(Disk& disk, const Clock& clock, std::string path) {
  Journal journal(disk, clock, std::move(path));
  const std::string there = disk.read(journal.path_).value_or("");
  journal.torn_ = !there.empty() && there.back() != '\n';
  return journal;
}

std::uint64_t Journal::add(const JsonLine& event) {
  const std::string members = event.str();
  waiting_ += "{\"at\":\"" + stamp(clock_.now()) + "\"";
  if (members != "{}") waiting_ += ',';
  waiting_.append(members, 1);
  waiting_ += '\n';
  return ++added_;
}

std::uint64_t Journal::add(const Json& event) {
  JsonLine line;
  for (const auto& [name, value] : event.items()) {
    line.json(name, smi::inert_json(value.dump(-1, ' ', false, Json::error_handler_t::replace)));
  }
  return add(line);
}

void Journal::sync() {
  if (on_disk_ == added_) return;
  if (files_) disk_.sync_folder(path_.substr(0, path_.rfind('/')));
  files_ = false;
  const std::string lines = (torn_ ? torn_off : "") + waiting_;
  torn_ = true;
  disk_.append(path_, lines, !makes(Mistake::skip_sync));
  torn_ = false;
  waiting_.clear();
  on_disk_ = added_;
}

void Journal::write(const Json& event) {
  add(event);
  sync();
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
