#include "records/own_engine.h"

#include <fmt/format.h>

#include "records/json_line.h"
#include "records/json_read.h"
#include "smi/value.h"

namespace vergeset::records {

namespace {

constexpr const char* engine_path = "listen/engine.json";
constexpr std::int64_t last_boots = 2147483646;  // the next would be in no window (RFC 3414 2.2.2)
constexpr std::size_t least_id = 5;              // RFC 3411, SnmpEngineID
constexpr std::size_t most_id = 32;

constexpr const char* engine_remedy =
    "put it back from a copy, or remove it: this host then has a new engine id, and units that send informs "
    "to "
    "the old one are to find it anew";

}  // namespace

Result<OwnEngine> start_own_engine(Disk& disk, const std::function<std::string()>& draw) {
  OwnEngine own;
  if (const auto text = disk.read(engine_path)) {
    const auto line = parse_json(*text);
    if (!line) return Problem{fmt::format("{} cannot be read; {}", engine_path, engine_remedy)};
    const auto id = smi::from_hex(text_in(*line, "engine"));
    const auto boots = number_in(*line, "boots");
    if (!id || id->size() < least_id || id->size() > most_id || !boots || *boots < 1)
      return Problem{fmt::format("{} holds no engine id with its boots; {}", engine_path, engine_remedy)};
    if (*boots >= last_boots)
      return Problem{
          fmt::format("{} has counted all its boots (RFC 3414 2.2.2); {}", engine_path, engine_remedy)};
    own = {*id, static_cast<std::uint32_t>(*boots)};
  } else {
    own.id = draw();
  }
  ++own.boots;
  JsonLine line;
  line.text("engine", smi::to_hex(own.id)).number("boots", own.boots);
  disk.write_whole(engine_path, line.str() + "\n");
  return own;
}

}  // namespace vergeset::records
