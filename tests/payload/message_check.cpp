#include <fmt/format.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "checks/message.h"
#include "drawn.h"

/// Draws messages, has them encoded by code made by asn1c, and compares what our decoder and tshark read
/// in them with what was drawn.

namespace {

using namespace vergeset;
using namespace vergeset::payloads;
using nlohmann::ordered_json;
namespace fs = std::filesystem;

struct Bench {
  std::string encoder;
  fs::path work;
  int count = 0;
  int compared = 0;
  int wrong = 0;

  void differ(const std::string& what) {
    ++wrong;
    if (wrong <= 10) fmt::print("{}\n", what);
  }
};

std::string octets_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// The message of a type in UPER.
std::string encoded(const Bench& bench, const std::string& type, const std::string& xer) {
  const fs::path in = bench.work / "drawn.xml";
  const fs::path out = bench.work / "drawn.uper";
  std::ofstream(in, std::ios::binary) << xer << "\n";
  const std::string command =
      fmt::format("'{}' -p {} -ixer -oper -s 0 -b 1000000 '{}' >'{}' 2>'{}'", bench.encoder, type,
                  in.string(), out.string(), (bench.work / "encode.log").string());
  if (std::system(command.c_str()) != 0) {
    throw std::runtime_error("the encoder made by asn1c failed; see encode.log and drawn.xml in " +
                             bench.work.string());
  }
  return octets_of(out);
}

std::string framed(int id, const std::string& body) {
  std::string frame{static_cast<char>(id / 256), static_cast<char>(id % 256)};
  if (body.size() >= 128) frame += static_cast<char>(0x80U | (body.size() >> 8U));
  return frame + static_cast<char>(body.size() & 0xffU) + body;
}

/// Everything that is kept of a drawn message must be read, and nothing must be amiss but its size.
template <class Content>
std::string read_back(Bench& bench, const std::string& name, int id, const char* type,
                      const Drawn<Content>& drawn) {
  const std::string body = encoded(bench, type, drawn.xer);
  if (body.size() >= 16'384) return "";
  const j2735::Message message = j2735::read_message(framed(id, body));
  ++bench.compared;
  for (const j2735::Flaw& flaw : message.flaws) {
    if (flaw.kind != j2735::Flaw::Kind::too_long) bench.differ(fmt::format("{}: {}", name, flaw.text));
  }
  const auto* content = std::get_if<Content>(&message.content);
  if (content == nullptr || !(*content == drawn.content)) {
    bench.differ(fmt::format("{}: what is read is not what was drawn: {}", name, drawn.xer));
  }
  return body;
}

/// The numbers that tshark reads under these names, in their order.
void collect(const ordered_json& tree, const std::vector<std::string>& names,
             std::vector<std::string>& found) {
  if (!tree.is_object()) return;
  for (const auto& [name, inside] : tree.items()) {
    // Its classes have an `id` too, and are passed over by our decoder.
    if (name.find("restrictionList") != std::string::npos) continue;
    const std::string plain = name.substr(name.find('.') + 1);
    if (inside.is_string() && std::find(names.begin(), names.end(), plain) != names.end()) {
      found.push_back(plain + " " + inside.get<std::string>());
    }
    collect(inside, names, found);
  }
}

struct Expected {
  std::vector<std::string> all;
  void add(const char* name, std::int64_t value) { all.push_back(fmt::format("{} {}", name, value)); }
  void maybe(const char* name, const std::optional<int>& value) {
    if (value) add(name, *value);
  }
  void reference(const j2735::Reference& reference) {
    maybe("region", reference.region);
    add("id", reference.id);
  }
};

void expect_lane(Expected& expected, const j2735::Lane& lane, int shift) {
  expected.add("laneID", lane.id);
  for (const j2735::Node& node : lane.nodes) {
    if (const auto* offset = std::get_if<j2735::Offset>(&node.at)) {
      expected.add("x", offset->east);
      expected.add("y", offset->north);
    } else if (const auto* fix = std::get_if<j2735::Fix>(&node.at)) {
      expected.add("lon", fix->longitude - shift);
      expected.add("lat", fix->latitude);
    }
  }
  if (lane.computed) expected.add("referenceLaneId", lane.computed->lane);
  for (const j2735::Connection& to : lane.connections) {
    expected.add("lane", to.lane);
    if (to.remote) expected.reference(*to.remote);
    expected.maybe("signalGroup", to.signal_group);
    expected.maybe("connectionID", to.id);
  }
}

std::vector<std::string> expected_of(const j2735::Map& map, int shift) {
  Expected expected;
  const auto place = [&](const j2735::Intersection& at) {
    expected.reference(at.id);
    expected.add("revision", at.revision);
    expected.add("lat", at.position.latitude);
    expected.add("long", at.position.longitude - shift);
    for (const j2735::Lane& lane : at.lanes) expect_lane(expected, lane, shift);
  };
  for (const auto& at : map.intersections) place(at);
  for (const auto& at : map.segments) place(at);
  return expected.all;
}

std::vector<std::string> expected_of(const j2735::Spat& spat, int /*shift*/) {
  Expected expected;
  for (const auto& at : spat.intersections) {
    expected.reference(at.id);
    expected.add("revision", at.revision);
    expected.maybe("moy", at.minute);
  }
  return expected.all;
}

/// tshark knows the ETSI messages that hold the same MapData and SPAT behind an ItsPduHeader: protocol
/// version 2, message id 5 or 4, a station.
std::string packet(int id, const std::string& body) {
  std::string line = fmt::format("000000 02 {:02x} 00 00 00 01", id);
  for (const char c : body) line += fmt::format(" {:02x}", static_cast<unsigned char>(c));
  return line + "\n";
}

std::vector<ordered_json> read_by_tshark(const fs::path& work, const std::string& packets) {
  std::ofstream(work / "drawn.txt") << packets;
  const std::string command = fmt::format(
      "cd '{}' && text2pcap -q -P its drawn.txt drawn.pcapng >text2pcap.log 2>&1 && "
      "tshark -r drawn.pcapng -T json --no-duplicate-keys >drawn.json 2>tshark.log",
      work.string());
  if (std::system(command.c_str()) != 0) {
    throw std::runtime_error("text2pcap or tshark failed; see their logs in " + work.string());
  }
  std::ifstream in(work / "drawn.json");
  std::vector<ordered_json> read;
  for (const ordered_json& each : ordered_json::parse(in)) {
    read.push_back(each.at("_source").at("layers").at("its"));
  }
  return read;
}

struct ForTshark {
  std::string name;
  std::vector<std::string> expected;
  std::vector<std::string> names;
};

const std::vector<std::string> map_names{"region", "id",          "revision",    "lat", "long",
                                         "laneID", "x",           "y",           "lon", "referenceLaneId",
                                         "lane",   "signalGroup", "connectionID"};
const std::vector<std::string> spat_names{"region", "id", "revision", "moy"};

void compare_with_tshark(Bench& bench, const std::vector<ForTshark>& drawn, const std::string& packets) {
  const auto read = read_by_tshark(bench.work, packets);
  if (read.size() != drawn.size()) {
    return bench.differ(fmt::format("tshark read {} of {} messages", read.size(), drawn.size()));
  }
  for (std::size_t i = 0; i < read.size(); ++i) {
    std::vector<std::string> found;
    for (const auto& [name, inside] : read[i].items()) {
      if (name.find("header") == std::string::npos) collect({{name, inside}}, drawn[i].names, found);
    }
    ++bench.compared;
    if (found != drawn[i].expected) {
      bench.differ(fmt::format("{}: tshark reads {} values, drawn were {}", drawn[i].name, found.size(),
                               drawn[i].expected.size()));
    }
  }
}

int check(Bench& bench, std::uint64_t seed, bool with_tshark) {
  fs::create_directories(bench.work);
  Dice dice(seed);
  for (int i = 0; i < bench.count; ++i) {
    const auto name = [&](const char* kind) { return fmt::format("{} {} of seed {}", kind, i + 1, seed); };
    read_back(bench, name("MAP"), j2735::map_id, "MapData", draw_map(dice, {}));
    read_back(bench, name("SPAT"), j2735::spat_id, "SPAT", draw_spat(dice, {}));
    read_back(bench, name("TIM"), j2735::tim_id, "TravelerInformation", draw_traveller(dice, {}));
  }
  // Of tshark's longitudes the least is one less than ours (map_check.cpp), so it reads one less.
  constexpr int shift = 1;
  const Habits plain{false, false, false};
  std::vector<ForTshark> drawn;
  std::string packets;
  for (int i = 0; with_tshark && i < bench.count; ++i) {
    const auto map = draw_map(dice, plain);
    const auto spat = draw_spat(dice, plain);
    const std::string map_name = fmt::format("plain MAP {} of seed {}", i + 1, seed);
    const std::string spat_name = fmt::format("plain SPAT {} of seed {}", i + 1, seed);
    const std::string map_body = read_back(bench, map_name, j2735::map_id, "MapData", map);
    const std::string spat_body = read_back(bench, spat_name, j2735::spat_id, "SPAT", spat);
    if (map_body.empty() || spat_body.empty()) continue;
    packets += packet(5, map_body) + packet(4, spat_body);
    drawn.push_back({map_name, expected_of(map.content, shift), map_names});
    drawn.push_back({spat_name, expected_of(spat.content, shift), spat_names});
  }
  if (with_tshark) compare_with_tshark(bench, drawn, packets);
  fmt::print("{} readings compared{}, {} differ\n", bench.compared,
             with_tshark ? "" : " (none of tshark, which is not there)", bench.wrong);
  return bench.wrong == 0 && bench.compared > 0 ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 5) {
    fmt::print(stderr, "Usage: message_check ENCODER FOLDER-FOR-RESULTS SEED COUNT\n");
    return 2;
  }
  try {
    Bench bench{argv[1], argv[2], std::stoi(argv[4]), 0, 0};
    return check(bench, std::stoull(argv[3]),
                 std::system("tshark --version >/dev/null 2>&1 && command -v text2pcap >/dev/null") == 0);
  } catch (const std::exception& fault) {
    fmt::print("{}\n", fault.what());
    return 1;
  }
}
