#include "change/carry_out.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/survey.h"

namespace vergeset::change {

namespace {

std::vector<snmp::VarBind> varbinds_of(const std::vector<Assignment>& assignments) {
  std::vector<snmp::VarBind> varbinds;
  for (const Assignment& one : assignments) varbinds.push_back({one.oid, one.value});
  return varbinds;
}

bool response_lost(const snmp::Error& error) {
  return error.failure == snmp::Failure::no_answer || error.failure == snmp::Failure::bad_answer ||
         error.failure == snmp::Failure::unreachable;
}

std::string refusal(const snmp::Error& error, const std::vector<Assignment>& assignments) {
  if (error.index == 0 || error.index > assignments.size()) return error.text;
  const Assignment& one = assignments[error.index - 1];
  return fmt::format("{} = {}: {}", one.name, one.text, snmp::status_name(error.status));
}

enum class ReadBack { done, not_done, in_part, silent };

snmp::Task<ReadBack> read_back(snmp::Link& link, const std::vector<Assignment>& assignments) {
  std::vector<smi::Oid> instances;
  for (const Assignment& one : assignments) instances.push_back(one.oid);
  const Surveyed surveyed = co_await read(link, std::move(instances));
  if (!surveyed) co_return ReadBack::silent;
  const auto done = [&](const Assignment& one) { return one.carried_out(surveyed.found.at(one.oid)); };
  if (std::all_of(assignments.begin(), assignments.end(), done)) co_return ReadBack::done;
  // Sending the same values once more does no harm, but a row that is there cannot be made again.
  const auto half_made = [&](const Assignment& one) {
    return one.makes_row() && surveyed.found.has(one.oid);
  };
  const bool in_part = std::any_of(assignments.begin(), assignments.end(), half_made);
  co_return in_part ? ReadBack::in_part : ReadBack::not_done;
}

snmp::Task<Carried> in_halves(snmp::Link& link, const std::vector<Assignment>& assignments) {
  const auto middle = assignments.begin() + static_cast<std::ptrdiff_t>(assignments.size() / 2);
  const std::vector<Assignment> first(assignments.begin(), middle);
  const std::vector<Assignment> second(middle, assignments.end());
  Carried carried = co_await carry_out(link, first);
  if (carried.end == Carried::End::done) carried = co_await carry_out(link, second);
  co_return carried;
}

}  // namespace

snmp::Task<Carried> carry_out(snmp::Link& link, const std::vector<Assignment>& assignments) {
  constexpr int most_tries = 3;
  const auto makes_row = [](const Assignment& one) { return one.makes_row(); };
  for (int tries = 1; tries <= most_tries; ++tries) {
    std::vector<snmp::VarBind> varbinds = varbinds_of(assignments);
    const snmp::Answer answer = co_await link.set(std::move(varbinds));
    if (answer) co_return Carried{};
    const snmp::Error& error = answer.error();
    const bool may_halve =
        assignments.size() > 1 && std::none_of(assignments.begin(), assignments.end(), makes_row);
    if (error.failure == snmp::Failure::too_big && may_halve) {
      Carried halves = co_await in_halves(link, assignments);
      co_return halves;
    }
    if (!response_lost(error)) co_return Carried{Carried::End::failed, refusal(error, assignments)};
    const ReadBack found = co_await read_back(link, assignments);
    switch (found) {
      case ReadBack::done:
        co_return Carried{Carried::End::done, "the response was lost; read back as carried out"};
      case ReadBack::in_part:
        co_return Carried{Carried::End::failed, "the response was lost; carried out in part"};
      case ReadBack::silent:
        co_return Carried{Carried::End::silent, error.text};
      case ReadBack::not_done:
        break;
    }
  }
  co_return Carried{Carried::End::failed, fmt::format("sent {} times, never carried out", most_tries)};
}

}  // namespace vergeset::change
