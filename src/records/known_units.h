#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "records/disk.h"

namespace vergeset::records {

/// records/known-units.jsonl: the SNMPv3 engine that each unit had when it was first met, and the certificate
/// that it showed first where it is spoken to by one. A unit's address says where it is, not which it is:
/// what answers there later with another engine, or shows another certificate, is a stranger until a person
/// accepts it.
///
/// Not the cache of engines.h, which is written anew and may be deleted. This file is only ever appended to,
/// and on stable storage; a line that a power cut tore is the youngest, and takes none of the others with it.
/// The first line of a unit stands until one that a person accepted; whatever else is met of it changes
/// nothing. Lines that cannot be read are passed over and counted.
class KnownUnits {
 public:
  struct Known {
    std::string engine;             ///< octets; empty: not told yet
    std::string since;              ///< RFC 3339; of the engine
    std::string who;                ///< who accepted it; empty at first contact
    std::string certificate;        ///< "sha256:..."; empty: none was shown yet
    std::string certificate_since;  ///< RFC 3339
    bool operator==(const Known&) const = default;
  };

  static KnownUnits read(const Disk& disk);

  /// What a unit says of itself when it is met; empty where it says nothing of that.
  struct Met {
    std::string engine;
    std::string certificate;
  };

  /// In this run other engines and certificates of these units are accepted, by `who`.
  void accept(const std::vector<std::string>& units, const std::string& who);

  std::optional<Known> find(const std::string& unit) const;
  /// The engine that the unit has to have; nothing where it has never been met, or where another is accepted.
  std::optional<std::string> expected(const std::string& unit) const;
  /// The certificate that it has to show; empty where none is known of it, or where another is accepted.
  std::string expected_certificate(const std::string& unit) const;

  /// A unit was met and has proven itself: it answered with its user's key or showed a certificate that is
  /// trusted, and nothing speaks against it. A replacement that is accepted is on stable storage when this
  /// returns; `keep` sees to first contacts.
  void met(Disk& disk, const std::string& unit, const Met& met, const std::string& at);
  /// The engine that another was accepted in place of, in this run.
  std::optional<std::string> replaced(const std::string& unit) const;

  /// Puts first contacts on stable storage. Where there are none nothing is written.
  void keep(Disk& disk);

  std::size_t unreadable() const { return unreadable_; }

 private:
  void take_line(const std::string& text);
  void take_first(const std::string& unit, const Known& met);
  bool is_another(const Known& known, const Met& met) const;
  void append(Disk& disk, const std::string& lines);

  std::map<std::string, Known> known_;
  std::map<std::string, std::string> replaced_;
  std::set<std::string> accepted_;
  std::string who_;
  std::string waiting_;  ///< lines of first contacts
  bool torn_ = false;    ///< the last line on disk has no end
  std::size_t unreadable_ = 0;
};

}  // namespace vergeset::records
