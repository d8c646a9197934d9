#include "checks/message_psids.h"

#include <fmt/format.h>

namespace vergeset::checks {

namespace {

struct KindOfPsid {
  int message;
  std::uint32_t psid;
};

constexpr KindOfPsid allocations[] = {
    {18, 0x82},      // MAP, with SPAT: intersection safety and awareness
    {18, 0x204097},  // MAP alone
    {19, 0x82},      // SPAT
    {20, 0x20},      // BSM
    {27, 0x83},      // RSA, with TIM: traveller information and roadside signage
    {28, 0x80},      // RTCM: differential GPS corrections, uncompressed
    {28, 0x81},      // and compressed
    {29, 0x204096},  // SRM
    {30, 0x204095},  // SSM
    {31, 0x83},      // TIM
    {32, 0x27},      // PSM: vulnerable road users
};

}  // namespace

bool psid_fits(std::uint32_t psid, int message) {
  bool known = false;
  for (const KindOfPsid& one : allocations) {
    if (one.message != message) continue;
    if (one.psid == psid) return true;
    known = true;
  }
  return !known;
}

std::string psids_text(int message) {
  std::string text;
  for (const KindOfPsid& one : allocations) {
    if (one.message == message) text += fmt::format("{}{:#x}", text.empty() ? "" : " or ", one.psid);
  }
  return text;
}

}  // namespace vergeset::checks
