#include "checks/uper.h"

#include <algorithm>
#include <bit>

#include "smi/octet.h"

namespace vergeset::j2735 {

namespace {

/// What a piece of an open type or a string holds at most is so many times this (X.691 11.9.3.8).
constexpr std::size_t uper_piece = 16'384;

int width_of(std::int64_t low, std::int64_t high) {
  return static_cast<int>(std::bit_width(static_cast<std::uint64_t>(high - low)));
}

}  // namespace

void Uper::fail(Fault fault, const char* field) {
  if (!ok()) return;
  fault_ = fault;
  where_ = field;
}

void Uper::within(const std::string& part) {
  if (!ok()) where_ = part + ": " + where_;
}

bool Uper::only_padding_left() const {
  if (bits_left() >= 8) return false;
  if (bits_left() == 0) return true;
  return (smi::octet_at(octets_, octets_.size() - 1) & ((1U << bits_left()) - 1)) == 0;
}

std::uint64_t Uper::raw(const char* field, int count) {
  if (!ok()) return 0;
  if (static_cast<std::size_t>(count) > bits_left()) {
    fail(Fault::ended, field);
    return 0;
  }
  std::uint64_t value = 0;
  for (int i = 0; i < count; ++i, ++at_) {
    value = value << 1U | ((smi::octet_at(octets_, at_ / 8) >> (7 - at_ % 8)) & 1U);
  }
  return value;
}

bool Uper::flag(const char* field) {
  return raw(field, 1) != 0;
}

std::int64_t Uper::number(const char* field, std::int64_t low, std::int64_t high) {
  const std::uint64_t above = raw(field, width_of(low, high));
  if (above <= static_cast<std::uint64_t>(high - low)) return low + static_cast<std::int64_t>(above);
  fail(Fault::out_of_bounds, field);
  return low;
}

std::size_t Uper::items(const char* field, std::int64_t low, std::int64_t high) {
  const std::int64_t count = number(field, low, high);
  return ok() ? static_cast<std::size_t>(count) : 0;
}

std::string Uper::ia5(const char* field, std::int64_t low, std::int64_t high) {
  const std::size_t count = items(field, low, high);
  if (count * 7 > bits_left()) fail(Fault::ended, field);
  std::string text;
  for (std::size_t i = 0; i < count && ok(); ++i) text += static_cast<char>(raw(field, 7));
  return text;
}

std::string Uper::octets(const char* field, std::size_t count) {
  if (count * 8 > bits_left()) fail(Fault::ended, field);
  std::string octets;
  for (std::size_t i = 0; i < count && ok(); ++i) octets += static_cast<char>(raw(field, 8));
  return octets;
}

Preamble Uper::sequence(const char* field, int optional, bool extensible) {
  Preamble preamble;
  preamble.extended = extensible && flag(field);
  preamble.present = static_cast<std::uint32_t>(raw(field, optional));
  preamble.optional = optional;
  return preamble;
}

void Uper::end_sequence(const Preamble& preamble) {
  if (!preamble.extended || !ok()) return;
  constexpr const char* field = "additions of a later version";
  // X.691 19.8: a normally small length, which counts from 1, then a bit an addition.
  const bool many = flag(field);
  const std::size_t count = many ? length(field).count : static_cast<std::size_t>(raw(field, 6)) + 1;
  if (count > bits_left()) return fail(Fault::ended, field);
  std::size_t there = 0;
  for (std::size_t i = 0; i < count && ok(); ++i) there += flag(field) ? 1 : 0;
  for (std::size_t i = 0; i < there && ok(); ++i) skip_open_type(field);
}

std::uint64_t Uper::small_number(const char* field) {
  if (!flag(field)) return raw(field, 6);
  // A semi-constrained number: octets behind their count. None has more than a few.
  const Length octets = length(field);
  if (octets.more || octets.count == 0 || octets.count > 8) {
    fail(Fault::out_of_bounds, field);
    return 0;
  }
  return raw(field, static_cast<int>(octets.count) * 8);
}

std::optional<unsigned> Uper::enumerated(const char* field, unsigned values, bool extensible) {
  if (extensible && flag(field)) {
    small_number(field);
    return std::nullopt;
  }
  return static_cast<unsigned>(number(field, 0, static_cast<std::int64_t>(values) - 1));
}

std::optional<unsigned> Uper::choice(const char* field, unsigned alternatives, bool extensible) {
  if (extensible && flag(field)) {
    small_number(field);
    skip_open_type(field);
    return std::nullopt;
  }
  return static_cast<unsigned>(number(field, 0, static_cast<std::int64_t>(alternatives) - 1));
}

std::uint64_t Uper::extensible_bits(const char* field, int count) {
  if (!flag(field)) return raw(field, count);
  Length piece = length(field);
  const int known = static_cast<int>(std::min<std::size_t>(piece.count, static_cast<std::size_t>(count)));
  const std::uint64_t bits = raw(field, known) << (count - known);
  skip_bits(field, piece.count - static_cast<std::size_t>(known));
  while (piece.more && ok()) {
    piece = length(field);
    skip_bits(field, piece.count);
  }
  return bits;
}

Uper::Length Uper::length(const char* field) {
  if (!flag(field)) return {static_cast<std::size_t>(raw(field, 7)), false};
  if (!flag(field)) return {static_cast<std::size_t>(raw(field, 14)), false};
  const auto pieces = static_cast<std::size_t>(raw(field, 6));
  if (ok() && (pieces < 1 || pieces > 4)) fail(Fault::out_of_bounds, field);
  return ok() ? Length{pieces * uper_piece, true} : Length{};
}

void Uper::skip_bits(const char* field, std::size_t count) {
  if (count > bits_left()) return fail(Fault::ended, field);
  if (ok()) at_ += count;
}

void Uper::skip_open_type(const char* field) {
  Length piece;
  do {
    piece = length(field);
    skip_bits(field, piece.count * 8);
  } while (piece.more && ok());
}

}  // namespace vergeset::j2735
