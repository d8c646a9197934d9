#include "change/carry_out.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/read_until.h"
#include "records/mistake.h"

namespace vergeset::change {

namespace {

using records::makes;
using records::Mistake;
using std::chrono::milliseconds;

/// Of RFC 3414 2.2.3: what is older is not timely.
constexpr milliseconds time_window{150000};

std::vector<snmp::VarBind> varbinds_of(const std::vector<Assignment>& assignments, const SerialNo& serial) {
  std::vector<snmp::VarBind> varbinds;
  for (const Assignment& one : assignments) varbinds.push_back({one.oid, one.value});
  if (serial.offered()) varbinds.push_back(serial.binding());
  return varbinds;
}

bool response_lost(const snmp::Error& error) {
  return error.failure == snmp::Failure::no_answer || error.failure == snmp::Failure::bad_answer ||
         error.failure == snmp::Failure::unreachable;
}

std::string refusal_text(const snmp::Error& error, const std::vector<Assignment>& assignments) {
  if (error.index == 0 || error.index > assignments.size()) return error.text;
  const Assignment& one = assignments[error.index - 1];
  return fmt::format("{} = {}: {}", one.name, one.text, snmp::status_name(error.status));
}

/// The other manager may be a person at the unit, or the unit itself, started anew.
std::string other_hand_text() {
  return "someone else has set this unit since it was read, or it has started anew (snmpSetSerialNo)";
}

/// Reading tells nothing of whether this was carried out.
bool reads_late(const std::vector<Assignment>& assignments) {
  return assignments.size() == 1 && assignments.front().reads_late;
}

bool may_halve(const std::vector<Assignment>& assignments) {
  return assignments.size() > 1 && std::none_of(assignments.begin(), assignments.end(),
                                                [](const Assignment& one) { return one.makes_row(); });
}

}  // namespace

milliseconds Setter::latest() const {
  milliseconds latest{0};
  if (numbered_) latest = std::max(latest, numbered_->until);
  if (unnumbered_) latest = std::max(latest, unnumbered_->until);
  return latest;
}

void Setter::none_can_come() {
  numbered_.reset();
  unnumbered_.reset();
}

void Setter::keep_out(std::int64_t number) {
  if (!numbered_ || numbered_->number != number) numbered_ = {number, milliseconds(0)};
}

void Setter::may_come(milliseconds until) {
  if (serial_.offered()) {
    named_.insert(serial_.number());
    numbered_ = {serial_.number(), until};
  } else {
    unnumbered_ = {std::nullopt, until};
  }
}

snmp::Task<Setter::ReadBack> Setter::read_back(snmp::Link& link, const std::vector<Assignment>& assignments,
                                               milliseconds until) {
  std::vector<smi::Oid> instances;
  for (const Assignment& one : assignments) instances.push_back(one.oid);
  if (serial_.offered()) instances.push_back(SerialNo::instance());
  const Surveyed surveyed = co_await read_until(network_, link, std::move(instances), until);
  if (!surveyed) co_return ReadBack::silent;
  const AsFound& found = surveyed.found;
  const auto done = [&](const Assignment& one) { return one.carried_out(found.at(one.oid)); };
  const bool all = std::all_of(assignments.begin(), assignments.end(), done);
  if (serial_.offered() && found.at(SerialNo::instance()).number != serial_.number()) {
    const bool ours = found.at(SerialNo::instance()).number == SerialNo::next(serial_.number());
    if (!ours || (!all && !reads_late(assignments))) co_return ReadBack::other_hand;
    serial_.counted();
    co_return ReadBack::done;
  }
  if (all && !assignments.empty() && !reads_late(assignments)) co_return ReadBack::done;
  // Sending the same values once more does no harm, but a row that is there cannot be made again.
  const auto half_made = [&](const Assignment& one) { return one.makes_row() && found.has(one.oid); };
  const bool in_part = std::any_of(assignments.begin(), assignments.end(), half_made);
  co_return in_part ? ReadBack::in_part : ReadBack::not_done;
}

snmp::Task<Carried> Setter::in_halves(snmp::Link& link, const std::vector<Assignment>& assignments,
                                      milliseconds until) {
  const auto middle = assignments.begin() + static_cast<std::ptrdiff_t>(assignments.size() / 2);
  const std::vector<Assignment> first(assignments.begin(), middle);
  const std::vector<Assignment> second(middle, assignments.end());
  Carried carried = co_await carry_out(link, first, until);
  if (carried.end == Carried::End::done) carried = co_await carry_out(link, second, until);
  co_return carried;
}

/// What the refusal of a SET comes to; nothing where it is to be sent once more.
snmp::Task<std::optional<Carried>> Setter::refused(snmp::Link& link, const snmp::Error& error,
                                                   const std::vector<Assignment>& assignments,
                                                   milliseconds until) {
  const Carried refusal{Carried::End::failed, refusal_text(error, assignments), false, false};
  if (!serial_.offered() || error.index != assignments.size() + 1) {
    // The network may have doubled this SET and lost the response to the first, which made the row. Where a
    // row that is only begun was there before, reading cannot tell, but the number can.
    const bool makes_row = std::any_of(assignments.begin(), assignments.end(),
                                       [](const Assignment& one) { return one.makes_row(); });
    if (!makes_row || (!serial_.offered() && assignments.size() == 1)) co_return refusal;
    const std::int64_t before = serial_.number();
    const ReadBack found = co_await read_back(link, assignments, until);
    const bool counted = !serial_.offered() || serial_.number() != before;
    if (found == ReadBack::done && counted) co_return Carried{};
    co_return refusal;
  }
  std::vector<smi::Oid> instances;
  for (const Assignment& one : assignments) instances.push_back(one.oid);
  instances.push_back(SerialNo::instance());
  const Surveyed now = co_await read_until(network_, link, std::move(instances), until);
  if (!now) co_return refusal;
  const std::int64_t number = now.found.at(SerialNo::instance()).number;
  if (number == serial_.number() || serial_.never_counts(number)) {
    serial_.refused();
    if (serial_.offered()) co_return std::nullopt;
    co_return Carried{Carried::End::failed, "the unit takes no snmpSetSerialNo", true, false};
  }
  // An earlier try of the same SET may have come late, or the network has doubled this one.
  const auto done = [&](const Assignment& one) { return one.carried_out(now.found.at(one.oid)); };
  const bool counted = number == SerialNo::next(serial_.number());
  const bool ours =
      counted && (reads_late(assignments) || std::all_of(assignments.begin(), assignments.end(), done));
  if (ours) {
    serial_.counted();
    co_return Carried{};
  }
  const bool untouched =
      !reads_late(assignments) && std::none_of(assignments.begin(), assignments.end(), done);
  co_return Carried{Carried::End::failed, other_hand_text(), false, untouched};
}

snmp::Task<Carried> Setter::carry_out(snmp::Link& link, const std::vector<Assignment>& assignments,
                                      milliseconds until) {
  constexpr int most_tries = 8;
  int tries = 0;
  while (tries < most_tries && (tries == 0 || network_.now() < until)) {
    ++tries;
    std::vector<snmp::VarBind> varbinds = varbinds_of(assignments, serial_);
    if (varbinds.empty()) co_return Carried{};
    if (serial_.offered()) named_.insert(serial_.number());
    const snmp::Answer answer = co_await link.set(std::move(varbinds));
    if (answer) {
      serial_.counted();
      co_return Carried{};
    }
    const snmp::Error& error = answer.error();
    // The network may have doubled a SET that is refused now, and the copy be carried out later; not where it
    // is the number that the unit does not take.
    const bool of_number = error.index == assignments.size() + 1;
    if (serial_.offered() && (!of_number || serial_.is_taken())) may_come(network_.now() + time_window);
    if (error.failure == snmp::Failure::too_big && may_halve(assignments)) {
      Carried halves = co_await in_halves(link, assignments, until);
      co_return halves;
    }
    if (!response_lost(error)) {
      const auto refusal = co_await refused(link, error, assignments, until);
      if (refusal) co_return *refusal;
      until = std::max(until, network_.now() + milliseconds(1));
      continue;
    }
    may_come(network_.now() + time_window);
    if (makes(Mistake::lost_is_done)) co_return Carried{};
    if (makes(Mistake::resend_blindly)) continue;
    const ReadBack found = co_await read_back(link, assignments, until);
    switch (found) {
      case ReadBack::done:
        co_return Carried{Carried::End::done, "the response was lost; read back as carried out"};
      case ReadBack::in_part:
        if (makes(Mistake::half_made_is_done)) co_return Carried{};
        co_return Carried{Carried::End::failed, "the response was lost; carried out in part"};
      case ReadBack::other_hand:
        co_return Carried{Carried::End::failed, other_hand_text()};
      case ReadBack::silent:
        co_return Carried{Carried::End::silent, error.text};
      case ReadBack::not_done:
        break;
    }
  }
  co_return Carried{Carried::End::failed, fmt::format("sent {}, never carried out",
                                                      tries == 1 ? "once" : fmt::format("{} times", tries))};
}

}  // namespace vergeset::change
