#include "report/words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "records/change_record.h"

namespace vergeset::report {

namespace {

constexpr std::size_t readable_octets = 24;

std::string shortened(const std::string& octets) {
  return fmt::format("{}...({} octets, sha256 {})", smi::to_hex(octets.substr(0, 4)), octets.size(),
                     records::sha256(octets).substr(0, 8));
}

}  // namespace

std::string counted(std::size_t count, const std::string& one, const std::string& many) {
  return fmt::format("{} {}", count, count == 1 ? one : many.empty() ? one + "s" : many);
}

std::string seconds_text(double seconds) {
  if (seconds < 100) return fmt::format("{:.1f} s", seconds);
  const long long whole = std::llround(seconds);
  return fmt::format("{} min {} s", whole / 60, whole % 60);
}

std::string summary(const std::vector<std::string>& words, const std::vector<std::string>& found) {
  std::string counts;
  for (const std::string& word : words) {
    const auto count = std::count(found.begin(), found.end(), word);
    if (count > 0) counts += fmt::format("{}{} {}", counts.empty() ? ": " : ", ", count, word);
  }
  return counted(found.size(), "unit") + counts;
}

std::string value_text(const Screen& screen, const smi::Syntax& syntax, const std::string& unit,
                       const smi::Value& value) {
  const bool hex = syntax.form == smi::Form::octets && value.type == smi::Type::octet_string;
  if (hex && !screen.full && value.octets.size() > readable_octets) return shortened(value.octets);
  const std::string words = change::in_words(syntax, unit, value);
  return words.empty() ? "(empty)" : words;
}

const char* kind_name(change::Difference::Kind kind) {
  switch (kind) {
    case change::Difference::Kind::make_row:
      return "new row";
    case change::Difference::Kind::change_row:
      return "changed row";
    case change::Difference::Kind::remove_row:
      return "removed row";
    case change::Difference::Kind::value:
      break;
  }
  return "value";
}

const char* kind_name(change::Remark::Kind kind) {
  switch (kind) {
    case change::Remark::Kind::not_offered:
      return "not offered";
    case change::Remark::Kind::left_out:
      return "left out";
    case change::Remark::Kind::other_row:
      break;
  }
  return "row that nobody asked for";
}

std::string shorten_hex(const Screen& screen, const std::string& text) {
  if (screen.full) return text;
  const auto is_hex = [](char c) {
    return std::isdigit(static_cast<unsigned char>(c)) || (c >= 'a' && c <= 'f');
  };
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    std::size_t end = at;
    while (end < text.size() && is_hex(text[end])) ++end;
    const std::string run = text.substr(at, end - at);
    const auto octets = smi::from_hex(run);
    const bool word = end == text.size() || !std::isalnum(static_cast<unsigned char>(text[end]));
    out += word && octets && octets->size() > readable_octets ? shortened(*octets) : run;
    if (end < text.size()) out += text[end];
    at = end + 1;
  }
  return out;
}

}  // namespace vergeset::report
