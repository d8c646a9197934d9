#pragma once

#include <memory>
#include <string>
#include <vector>

#include "child.h"
#include "support/fleet_folder.h"
#include "support/stored_keys.h"

namespace crash {

/// A unit of each standard, served by roadside-sim, whose keys `vergeset rekey` changes: from the factory's
/// user, or from keys of their own that an earlier change gave them. The key store lies beside the records,
/// in one folder. As often as wanted they start over, with the users and the store that they had at first.
class KeyedUnits {
 public:
  enum class From { factory, own_keys };

  KeyedUnits(int lane, From from);
  ~KeyedUnits();
  KeyedUnits(const KeyedUnits&) = delete;
  KeyedUnits& operator=(const KeyedUnits&) = delete;

  static const std::vector<std::string>& names();

  void start_over() const;
  Ended vergeset(std::vector<std::string> words, const Environment& more = {}) const;

  /// As net-snmp's commands read it; `who` as vergeset::tests::words_of().
  bool opens(const std::string& unit, const std::string& who) const;
  /// It has no such user or not that key (RFC 3414 3.2), and says so.
  bool refuses(const std::string& unit, const std::string& who) const;
  /// Its users and who is in which group.
  std::string users(const std::string& unit, const std::string& who) const;
  std::string users_at_first(const std::string& unit) const;

  /// What opened the unit when it started over.
  std::string opener_at_first(const std::string& unit) const;
  static std::string factory();
  /// Something that is stored and opens the unit, or the factory's user; empty: nothing does.
  std::string opener(const std::string& unit) const;

  vergeset::tests::StoreFile store() const;
  /// Number of the change that is made after start_over().
  int change() const { return from_ == From::factory ? 1 : 2; }
  int sets() const;
  std::string records() const { return kept() + "/records"; }
  /// The records and the key store.
  std::string kept() const { return folder_.path() + "/kept"; }
  std::string path(const std::string& name) const { return folder_.path() + "/" + name; }

  static constexpr const char* store_name = "larkmoor.keys";

 private:
  std::string place(const std::string& unit) const;
  std::string control(const std::string& unit) const;
  Ended ask(const std::string& unit, const std::string& command, const std::string& who,
            const std::vector<std::string>& objects) const;

  int lane_;
  From from_;
  vergeset::test::FleetFolder folder_;
  std::unique_ptr<Child> simulator_;
  std::vector<std::string> first_users_;    ///< as users(), of each unit
  std::vector<std::string> first_openers_;  ///< of each unit
};

}  // namespace crash
