#include "fleets.h"

#include <fmt/format.h>

#include <stdexcept>

#include "support/fleet_folder.h"

namespace vergeset::faults {

namespace {

using Files = std::map<std::string, std::string>;

constexpr const char* credentials =
    "fleet: Larkmoor test bench\n"
    "mode-wait: 60 s\n"
    "credentials:\n"
    "  bench: {user: bench, auth-secret: {env: BENCH_AUTH}, privacy-secret: {env: BENCH_PRIV}}\n";

constexpr const char* scalars =
    "settings:\n"
    "  unit-id: \"{unit}\"\n"
    "  notify-address: 192.0.2.10\n"
    "  notify-port: 1162\n"
    "  position-tolerance: 15 m\n";

const std::string map_row =
    "      map:\n"
    "        match: [psid, message]\n"
    "        psid: 0x82\n"
    "        message: MAP\n"
    "        channel: 183\n"
    "        interval: 1000 ms\n"
    "        start: 2026-01-01T00:00Z\n"
    "        stop: 2036-01-01T00:00Z\n"
    "        payload: {file: payloads/map.hex}\n"
    "        enabled: on\n";

const std::string notice_row =
    "      notice:\n"
    "        match: [psid]\n"
    "        psid: 0x83\n"
    "        message: TIM\n"
    "        channel: 183\n"
    "        interval: 2000 ms\n"
    "        start: 2026-01-01T00:00Z\n"
    "        stop: 2036-01-01T00:00Z\n"
    "        payload: {file: payloads/notice.hex}\n"
    "        enabled: on\n";

std::string messages(const std::string& others, const std::string& rows) {
  return "tables:\n  store-and-repeat:\n    others: " + others + "\n    rows:\n" + rows;
}

Files files(const std::string& fleet, const std::string& units) {
  return {{"fleet.yaml", credentials + fleet},
          {"units.yaml", "units:\n" + units},
          {"payloads/map.hex", "0012020000\n"},
          {"payloads/notice.hex", "001f03000102\n"},
          {"models/bench.yaml",
           "model: bench-remake\ntitle: NTCIP 1218 v01 with rows made anew\nbased-on: ntcip1218-v01\n"
           "tables:\n  rsuMsgRepeatStatusTable: {edit: remake}\n"},
          {"models/bench2.yaml",
           "model: bench-rest\ntitle: RSU 4.1 with rows taken out of service\nbased-on: rsu-4.1\n"
           "tables:\n  rsuSRMStatusTable: {edit: out of service}\n"}};
}

std::string unit(int number, const std::string& model, const std::string& more = "") {
  return fmt::format("  LK-10{}: {{address: 192.0.2.{}, model: {}{}{}}}\n", number, number, model,
                     more.empty() ? "" : ", ", more);
}

std::unique_ptr<SmallFleet> load(const std::string& about, const Files& all, bool allow_cut_off = true) {
  const test::FleetFolder folder(all);
  auto small = std::make_unique<SmallFleet>();
  small->about = about;
  small->allow_cut_off = allow_cut_off;
  Faults faults;
  small->fleet = fleet::load_fleet(folder.path(), SOURCE_DIR "/schemas", faults);
  if (faults.any()) {
    std::string text = about + ":";
    for (const Fault& fault : faults.sorted()) text += "\n" + fault.str();
    throw std::runtime_error(text);
  }
  small->fleet.files.clear();  // they are gone, and their digests are no matter here
  for (const fleet::Unit& one : small->fleet.units)
    small->goals.push_back({&one, change::goal_of_files(small->fleet, one)});
  return small;
}

std::vector<std::unique_ptr<SmallFleet>> load_all() {
  const std::string settings = scalars;
  const std::string operate = settings + "  mode: operate\n";
  std::vector<std::unique_ptr<SmallFleet>> all;
  const auto add = [&](const std::string& about, const std::string& fleet, const std::string& units,
                       bool allow_cut_off = true) {
    all.push_back(load(about, files(fleet, units), allow_cut_off));
  };
  add("both standards, to operate", operate + messages("keep", map_row),
      unit(1, "ntcip1218-v01") + unit(2, "rsu-4.1"));
  add("one NTCIP 1218 unit whose message table needs standby, other rows removed",
      "traits:\n  rsuMsgRepeatStatusTable: {needs-standby: yes}\n" + settings +
          messages("remove", map_row + notice_row),
      unit(1, "ntcip1218-v01"));
  add("rows made anew, and both without a word of the mode", settings + messages("remove", map_row),
      unit(1, "bench-remake") + unit(2, "rsu-4.1"));
  add("rows out of service while they are changed; a scalar that needs standby",
      "traits:\n  rsuNotifyPort: {needs-standby: yes}\n" + operate + messages("keep", map_row + notice_row),
      unit(1, "bench-rest") + unit(2, "ntcip1218-v01"));
  add("four units in two waves", "waves: [1, rest]\n" + operate + messages("keep", notice_row),
      unit(1, "ntcip1218-v01") + unit(2, "rsu-4.1") + unit(3, "ntcip1218-v01") + unit(4, "bench-rest"));
  add("to standby", settings + "  mode: standby\n" + messages("keep", map_row),
      unit(1, "ntcip1218-v01") + unit(2, "rsu-4.1"));
  add("a gateway that can cut us off",
      "only:\n  ntcip1218-v01: {settings: {rsuHostGateway: 192.0.2.254}}\n" + operate,
      unit(1, "ntcip1218-v01") + unit(2, "rsu-4.1"));
  add("a gateway that can cut us off, and may not be set",
      "only:\n  ntcip1218-v01: {settings: {rsuHostGateway: 192.0.2.254}}\n" + operate,
      unit(1, "ntcip1218-v01") + unit(2, "rsu-4.1"), false);
  add("radios, a row at its index, and one that is to be gone",
      operate +
          "tables:\n"
          "  radio:\n    rows:\n      first: {index: 1, channel: 180}\n      second: {index: 2, channel: "
          "178}\n"
          "  store-and-repeat:\n    rows:\n"
          "      old: {index: 2, present: no}\n"
          "      map: {index: 5, psid: 0x82, message: MAP, channel: 183, interval: 500 ms, enabled: on,\n"
          "            start: \"2026-01-01T00:00Z\", stop: \"2036-01-01T00:00Z\", payload: {file: "
          "payloads/map.hex}}\n",
      unit(1, "ntcip1218-v01") + unit(2, "rsu-4.1"));
  add("three units, half of them first, one failure allowed; rows made anew in standby",
      "waves: [50%, rest]\nfailures-allowed: 1\n"
      "traits:\n  rsuMsgRepeatStatusTable: {needs-standby: yes}\n" +
          settings + messages("remove", map_row + notice_row),
      unit(1, "bench-remake") + unit(2, "bench-remake") + unit(3, "rsu-4.1"));
  Files large = files(settings + messages("keep", map_row),
                      unit(1, "bench-remake", "engine-id: 8000000004626e6368") + unit(2, "rsu-4.1"));
  std::string hex = "0012";
  for (int i = 0; i < 1300; ++i) hex += "5a";
  large["payloads/map.hex"] = hex + "\n";
  all.push_back(load("a message too large for one request, an engine id in the inventory", large));
  return all;
}

}  // namespace

const sim::Store& SmallFleet::prototype(std::size_t unit, bool desired, int transition_ms) const {
  std::unique_ptr<sim::Store>& made = prototypes_[{unit, desired, transition_ms}];
  if (!made) {
    const fleet::Unit& one = fleet.units[unit];
    sim::Nature nature{one.model, one.name, std::nullopt, transition_ms};
    made = std::make_unique<sim::Store>(nature, &one.desired, start_ms);
    if (desired) made->apply(one.desired, start_ms);
  }
  return *made;
}

const std::vector<std::unique_ptr<SmallFleet>>& small_fleets() {
  static const std::vector<std::unique_ptr<SmallFleet>> all = load_all();
  return all;
}

}  // namespace vergeset::faults
