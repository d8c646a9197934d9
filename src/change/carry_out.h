#pragma once

#include <string>
#include <vector>

#include "change/sequence.h"
#include "snmp/network.h"

namespace vergeset::change {

/// How one request of a sequence ended.
struct Carried {
  enum class End {
    done,    ///< acknowledged, or read back as carried out
    failed,  ///< refused, or carried out in part
    silent,  ///< no answer, not even to reading it back
  };
  End end = End::done;
  std::string what;  ///< for a person
};

/// Sends the SET of a step. Where the response is lost it reads back what the SET was to do, and sends
/// again only what was not done: a lost response says nothing about what was carried out, and a repeated
/// createAndGo answers inconsistentValue though the first one worked. A SET that is refused as too big
/// was not carried out (RFC 3416 4.2.5) and goes in halves, unless it makes a row.
snmp::Task<Carried> carry_out(snmp::Link& link, const std::vector<Assignment>& assignments);

}  // namespace vergeset::change
