#include "snmp/losses.h"

#include <algorithm>
#include <cmath>

namespace vergeset::snmp {

namespace {

constexpr double enough = 400;
constexpr double taken_for_answered = 4;
constexpr double unheard = 1e-6;

}  // namespace

void Losses::answered(int lost) {
  lost_ += lost;
  answered_ += 1;
  if (lost_ + answered_ <= enough) return;
  lost_ /= 2;
  answered_ /= 2;
}

double Losses::share() const {
  return lost_ / (lost_ + answered_ + taken_for_answered);
}

int Losses::tries() const {
  const double lost = share();
  if (lost <= unheard) return 1;
  return std::min(static_cast<int>(std::ceil(std::log(unheard) / std::log(lost))), most_tries);
}

}  // namespace vergeset::snmp
