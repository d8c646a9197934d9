#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "change/settle.h"
#include "records/counted.h"
#include "records/expiry.h"
#include "records/factory_tries.h"

namespace vergeset::change {

/// Outcome of a unit in an audit (design 1, Words).
enum class Verdict { agrees, drifted, no_answer, wrong_unit };

std::string_view verdict_name(Verdict verdict);

struct Audited {
  const fleet::Unit* unit = nullptr;
  Verdict verdict = Verdict::no_answer;
  std::string what;  ///< why there is no answer, or what speaks against the unit
  Comparison comparison;
  std::vector<checks::Finding> health;
  records::FoundAt position;
  std::vector<records::Expiry> ends;
  records::Counted counted;  ///< for the next audit; of a unit that gave no answer what was counted before
  AsFound found;             ///< of an audit only when: the rest has been judged
  snmp::Traffic traffic;
  bool refused_us = false;                 ///< it answered, and did not let its credential in
  std::vector<records::FactoryTry> doors;  ///< what it had from the factory (factory_doors.h)
};

/// What earlier audits counted, by unit.
using Before = std::map<std::string, records::Counted>;

/// Reads each unit, compares it with what its files ask, and judges its health and position. Sends no SET.
/// `purpose` stands in the units' logs.
std::vector<Audited> audit(const World& world, const std::vector<const fleet::Unit*>& units,
                           const std::string& purpose, std::size_t at_once, const Before& before = {});

/// The same of one unit, as a part of what runs already. What is named outlives the task.
snmp::Task<Audited> audit_unit(const World& world, const fleet::Unit& unit, std::string purpose,
                               const records::Counted* before);

/// Where a unit found itself, for records and reports.
records::FoundAt found_at(const checks::Position& position);

/// Reads each unit as found: what its files need, or its whole model. Verdict agrees stands for "read".
std::vector<Audited> read_units(const World& world, const std::vector<const fleet::Unit*>& units, bool whole,
                                std::size_t at_once);

}  // namespace vergeset::change
