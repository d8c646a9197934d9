#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fleet/fleet.h"
#include "sim/store.h"

namespace vergeset::sim {

/// All that a simulated unit needs of the fleet's files to start, by value. It travels as octets from
/// the process that read the fleet to the unit's own: what a unit is forked from then holds no fleet,
/// whose page tables every unit would have a copy of.
struct UnitStart {
  struct Cell {
    std::string object;
    std::uint32_t index = 0;
    smi::Value value;
    bool operator==(const Cell&) const = default;
  };

  std::string name;
  std::string host;
  std::uint16_t port = 161;
  std::string model;
  std::string credential;
  std::string engine_id;  ///< hex, or empty
  std::optional<Spot> site;
  /// By name of an object or table: whether it needs standby, where the fleet says other than the model.
  std::vector<std::pair<std::string, bool>> standby_quirks;
  std::vector<Cell> cells;  ///< values other than the factory's, where it starts as the files ask

  // Of a twin (twin_text.h): `cells` are then all that it holds.
  bool as_found = false;
  std::optional<std::int64_t> mode;  ///< of ModeRule::status
  std::vector<std::string> absent;   ///< objects that it does not offer
  std::optional<int> refuse_after;   ///< so many SETs pass, and the next is refused

  /// The unit as the fleet's files have it start: from its factory, or as they ask.
  Result<Store> store(const schema::Model& model, int transition_ms, std::int64_t now) const;

 private:
  fleet::Desired quirks(const schema::Model& model) const;
  Result<Store> twin(const schema::Model& model, const fleet::Desired& traits, int transition_ms,
                     std::int64_t now) const;
};

/// The credential that all twins have.
inline constexpr const char* twin_credential = "twins";

/// `desired`: with the values that the files ask for.
UnitStart start_of(const fleet::Unit& unit, bool desired);

/// As octets and back; octets that pack() did not make are a bug and throw.
std::string pack(const UnitStart& start);
UnitStart unpack(std::string_view octets);

}  // namespace vergeset::sim
