#include "report/listen_text.h"

#include <fmt/format.h>

#include "report/table.h"
#include "report/words.h"
#include "smi/inert.h"

namespace vergeset::report {

namespace {

std::string dropped_words(const Heard& heard) {
  std::string text;
  for (const auto& [reason, count] : heard.dropped) {
    if (count > 0) text += fmt::format("{}{} {}", text.empty() ? "" : ", ", count, reason);
  }
  if (heard.lost > 0) text += fmt::format("{}{} not read in time", text.empty() ? "" : ", ", heard.lost);
  return text;
}

}  // namespace

std::string heard_line(const Heard& heard) {
  std::string line =
      fmt::format("{} of {}", counted(heard.notifications, "notification"), counted(heard.units, "unit"));
  if (heard.acknowledged > 0) line += fmt::format(", {} acknowledged", heard.acknowledged);
  if (heard.audits > 0) line += ", " + counted(heard.audits, "audit");
  const std::string dropped = dropped_words(heard);
  return dropped.empty() ? line : line + "; dropped: " + dropped;
}

std::string heard_text(const Screen& screen, const Heard& heard) {
  Table table(0);
  const auto add = [&table](const std::string& what, std::uint64_t count) {
    if (count > 0) table.add({what, std::to_string(count)});
  };
  table.add({"listened", seconds_text(heard.seconds)});
  table.add({"notifications", fmt::format("{} of {}", heard.notifications, counted(heard.units, "unit"))});
  add("acknowledged", heard.acknowledged);
  add("audits", heard.audits);
  add("asked who we are", heard.discoveries);
  add("connections", heard.connections);
  add("datagrams", heard.datagrams);
  add("not read in time", heard.lost);
  for (const auto& [reason, count] : heard.dropped) add("dropped, " + reason, count);
  return table.text(screen);
}

Json heard_json(const Heard& heard) {
  Json dropped = Json::object();
  for (const auto& [reason, count] : heard.dropped) dropped[reason] = count;
  return {{"seconds", heard.seconds},
          {"datagrams", heard.datagrams},
          {"notifications", heard.notifications},
          {"units", heard.units},
          {"acknowledged", heard.acknowledged},
          {"discoveries", heard.discoveries},
          {"audits", heard.audits},
          {"connections", heard.connections},
          {"lost", heard.lost},
          {"dropped", std::move(dropped)}};
}

std::string event_text(const Screen& screen, const std::string& at, const std::string& unit,
                       const std::string& what) {
  const bool terminal = screen.break_words;
  if (terminal) {
    Table table(0);
    table.add({at, unit, what});
    return table.text(screen);
  }
  return smi::inert(fmt::format("{}  {}  {}", at, unit, what)) + "\n";
}

}  // namespace vergeset::report
