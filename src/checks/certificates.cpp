#include "checks/certificates.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "smi/syntax.h"

namespace vergeset::checks {

namespace {

// NTCIP 1218, rsuSecEnrollCertStatus.
constexpr std::int64_t enrolled = 3;
// NTCIP 1218, rsuSecAppCertState and rsuSecAppCertExpiration, which counts hours up to 254.
constexpr std::int64_t state_valid = 2;
constexpr std::int64_t state_future = 4;
constexpr std::int64_t hours_most = 254;
constexpr std::int64_t hours_expired = 255;
constexpr std::int64_t hour_ms = 3600000;

/// "5 days", and hours where they are few.
std::string left_text(double hours) {
  return hours < 48 ? fmt::format("{:.0f} h", hours) : fmt::format("{:.0f} days", hours / 24);
}

/// Milliseconds since 1970.
std::optional<std::int64_t> enrolment_end(const AsRead& read) {
  const smi::Value* value = read.value("rsuSecEnrollCertExpiration");
  const auto end = value == nullptr ? std::nullopt : smi::instant_of(value->octets);
  return end ? std::optional(*end * 100) : std::nullopt;
}

void judge_enrolment(const AsRead& read, const fleet::Limits& limits, Findings& findings) {
  const auto status = read.number("rsuSecEnrollCertStatus");
  if (status && *status != enrolled) {
    findings.add("enrolment", fmt::format("the unit's enrolment is {}", read.words("rsuSecEnrollCertStatus")),
                 {}, read.model.title + " rsuSecEnrollCertStatus");
    return;
  }
  const auto end = enrolment_end(read);
  if (!end) return;
  const double hours = static_cast<double>(*end - read.now) / hour_ms;
  const std::string when = read.words("rsuSecEnrollCertExpiration");
  if (hours <= 0) {
    findings.add("certificate-over", fmt::format("its enrolment certificate ended {}", when));
  } else if (hours < limits.enrolment_left_days * 24) {
    findings.add("certificate-ends",
                 fmt::format("its enrolment certificate ends in {}, {}; at least {:g} days "
                             "are wanted",
                             left_text(hours), when, limits.enrolment_left_days));
  }
}

/// What a unit has of certificates for one PSID.
struct Stock {
  std::string words;          ///< the PSID
  std::int64_t longest = -1;  ///< hours that the best valid one has left
  bool follows = false;       ///< one for later is there
  std::string state;          ///< of the last that is not valid
};

std::map<std::string, Stock> stock_of(const AsRead& read, const schema::Table& table) {
  std::map<std::string, Stock> all;
  for (const std::uint32_t row : read.rows(table)) {
    const smi::Value* psid = read.value("rsuSecAppCertPsid", row);
    const auto state = read.number("rsuSecAppCertState", row);
    if (psid == nullptr || !state) continue;
    Stock& stock = all[psid->octets];
    const auto number = smi::p_decode(psid->octets);
    stock.words = number ? fmt::format("PSID 0x{:x}", *number) : "PSID " + smi::to_hex(psid->octets);
    const std::int64_t hours = read.number("rsuSecAppCertExpiration", row).value_or(0);
    if (*state == state_valid && hours != hours_expired) {
      stock.longest = std::max(stock.longest, hours);
    } else {
      stock.state = *state == state_valid ? "expired" : read.words("rsuSecAppCertState", row);
    }
    stock.follows = stock.follows || *state == state_future;
  }
  return all;
}

}  // namespace

void judge_certificates(const AsRead& read, const fleet::Limits& limits, Findings& findings) {
  judge_enrolment(read, limits, findings);
  const schema::Table* table = read.model.table("rsuSecAppCertTable");
  if (table == nullptr) return;
  for (const auto& [psid, stock] : stock_of(read, *table)) {
    if (stock.longest < 0) {
      findings.add("certificate-over",
                   fmt::format("no valid application certificate for {}: {}", stock.words, stock.state));
    } else if (static_cast<double>(stock.longest) < limits.certificate_left_h && !stock.follows) {
      findings.add(
          "certificate-ends",
          fmt::format("its application certificate for {} ends in {}, and none follows; at least {:g} "
                      "h are wanted",
                      stock.words,
                      stock.longest == 0 ? "less than 1 h" : left_text(static_cast<double>(stock.longest)),
                      limits.certificate_left_h));
    }
  }
}

std::vector<records::Expiry> certificate_ends(const AsRead& read) {
  std::vector<records::Expiry> ends;
  const auto enrolment = enrolment_end(read);
  if (read.number("rsuSecEnrollCertStatus") == enrolled && enrolment && *enrolment > read.now)
    ends.push_back({"enrolment certificate", *enrolment});
  const schema::Table* table = read.model.table("rsuSecAppCertTable");
  if (table == nullptr) return ends;
  for (const auto& [psid, stock] : stock_of(read, *table)) {
    if (stock.longest < 0) continue;
    ends.push_back({"application certificate for " + stock.words, read.now + stock.longest * hour_ms,
                    stock.longest >= hours_most, true});
  }
  return ends;
}

}  // namespace vergeset::checks
