#include "checks/signal_message.h"

#include <fmt/format.h>

namespace vergeset::j2735 {

namespace {

constexpr std::int64_t most_zone_length = 10'000;

void skip_timing(Uper& in) {
  const Preamble form = in.sequence("timing", 5, false);
  if (form.has(0)) in.raw("start time", 16);
  in.raw("earliest end", 16);
  for (const int field : {1, 2}) {
    if (form.has(field)) in.raw("end time", 16);
  }
  if (form.has(3)) in.number("confidence", 0, 15);
  if (form.has(4)) in.raw("next time", 16);
}

void skip_speeds(Uper& in) {
  const std::size_t count = in.items("advised speeds", 1, 16);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    const Preamble form = in.sequence("advised speed", 5, true);
    in.enumerated("kind of advised speed", 4, true);
    if (form.has(0)) in.number("advised speed", 0, 500);
    if (form.has(1)) in.enumerated("confidence of a speed", 8, false);
    if (form.has(2)) in.number("length of a zone", 0, most_zone_length);
    if (form.has(3)) in.number("restriction class", 0, 255);
    if (form.has(4)) skip_regional(in);
    in.end_sequence(form);
  }
}

void skip_assists(Uper& in) {
  const std::size_t count = in.items("maneuver assists", 1, 16);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    const Preamble form = in.sequence("maneuver assist", 5, true);
    in.number("connection id", 0, 255);
    for (const int field : {0, 1}) {
      if (form.has(field)) in.number("length of a zone", 0, most_zone_length);
    }
    for (const int field : {2, 3}) {
      if (form.has(field)) in.flag("maneuver assist");
    }
    if (form.has(4)) skip_regional(in);
    in.end_sequence(form);
  }
}

void skip_event(Uper& in) {
  const Preamble form = in.sequence("event", 3, true);
  in.enumerated("phase", 10, false);
  if (form.has(0)) skip_timing(in);
  if (form.has(1)) skip_speeds(in);
  if (form.has(2)) skip_regional(in);
  in.end_sequence(form);
}

void skip_movement(Uper& in) {
  const Preamble form = in.sequence("movement", 3, true);
  if (form.has(0)) in.ia5("name of a movement", 1, 63);
  in.number("signal group", 0, 255);
  const std::size_t events = in.items("number of events", 1, 16);
  for (std::size_t i = 0; i < events && in.ok(); ++i) skip_event(in);
  if (form.has(1)) skip_assists(in);
  if (form.has(2)) skip_regional(in);
  in.end_sequence(form);
}

SignalState read_state(Uper& in) {
  SignalState at;
  const Preamble form = in.sequence("intersection", 6, true);
  if (form.has(0)) at.name = in.ia5("name", 1, 63);
  at.id = read_reference(in);
  at.revision = static_cast<int>(in.number("revision", 0, 127));
  in.raw("status", 16);
  at.minute = read_optional(in, form.has(1), "minute of the year", most_minute);
  at.millisecond = read_optional(in, form.has(2), "time stamp", 65'535);
  const std::size_t lanes = form.has(3) ? in.items("enabled lanes", 1, 16) : 0;
  for (std::size_t i = 0; i < lanes && in.ok(); ++i) in.number("enabled lane", 0, 255);
  const std::size_t states = in.items("number of states", 1, 255);
  for (std::size_t i = 0; i < states && in.ok(); ++i) {
    skip_movement(in);
    in.within(fmt::format("state {} of {}", i + 1, states));
    if (in.ok()) ++at.states;
  }
  if (form.has(4)) skip_assists(in);
  if (form.has(5)) skip_regional(in);
  in.end_sequence(form);
  return at;
}

}  // namespace

Spat read_spat(Uper& in) {
  Spat spat;
  const Preamble form = in.sequence("SPAT", 3, true);
  spat.minute = read_optional(in, form.has(0), "time stamp", most_minute);
  if (form.has(1)) spat.name = in.ia5("name", 1, 63);
  const std::size_t count = in.items("number of intersections", 1, 32);
  for (std::size_t i = 0; i < count && in.ok(); ++i) {
    SignalState at = read_state(in);
    if (in.ok() || at.states > 0) spat.intersections.push_back(std::move(at));
    in.within(fmt::format("intersection {} of {}", i + 1, count));
  }
  if (form.has(2)) skip_regional(in);
  in.end_sequence(form);
  return spat;
}

}  // namespace vergeset::j2735
