#include <fmt/format.h>

#include "smi/moment.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

bool digit(char letter) {
  return letter >= '0' && letter <= '9';
}

/// Reads an ISO 8601 time from left to right; the first field that is not there ends it.
class Reader {
 public:
  explicit Reader(std::string_view text) : rest_(text) {}

  bool done() const { return rest_.empty(); }

  bool take(std::string_view any_of) {
    if (rest_.empty() || any_of.find(rest_.front()) == std::string_view::npos) return false;
    last_ = rest_.front();
    rest_.remove_prefix(1);
    return true;
  }
  char last() const { return last_; }

  /// A number of `least` to `most` digits.
  bool number(int& into, std::size_t least, std::size_t most) {
    std::size_t length = 0;
    while (length < rest_.size() && length < most && digit(rest_[length])) ++length;
    if (length < least) return false;
    into = 0;
    for (const char letter : rest_.substr(0, length)) into = into * 10 + (letter - '0');
    rest_.remove_prefix(length);
    return true;
  }
  bool two(int& into) { return number(into, 2, 2); }

 private:
  std::string_view rest_;
  char last_ = '\0';
};

bool read_date_and_clock(Reader& reader, Moment& moment) {
  if (!(reader.number(moment.year, 4, 5) && reader.take("-") && reader.two(moment.month) &&
        reader.take("-") && reader.two(moment.day) && reader.take("Tt ") && reader.two(moment.hour) &&
        reader.take(":") && reader.two(moment.minute)))
    return false;
  if (!reader.take(":")) return true;
  if (!reader.two(moment.second)) return false;
  return !reader.take(".") || reader.number(moment.decisecond, 1, 1);
}

bool read_offset(Reader& reader, Moment& moment) {
  Offset offset;
  offset.direction = reader.last();
  if (!reader.two(offset.hours)) return false;
  reader.take(":");
  if (!reader.two(offset.minutes)) return false;
  moment.offset = offset;
  return true;
}

Problem no_time_at(std::string_view text) {
  return {fmt::format("expected a time such as 2026-11-01T06:00Z or 2026-11-01T06:00:30.5+01:00, found {}",
                      shown(text))};
}

}  // namespace

Result<Moment> moment_from_text(std::string_view text) {
  Reader reader(text);
  Moment moment;
  if (!read_date_and_clock(reader, moment)) return no_time_at(text);
  // A time without a zone would mean another instant on every desk; both RSU standards want UTC.
  if (reader.done())
    return Problem{fmt::format("{} has no time zone: say Z or an offset such as +01:00", shown(text))};
  if (reader.take("+-")) {
    if (!read_offset(reader, moment)) return no_time_at(text);
  } else if (!reader.take("Zz")) {
    return no_time_at(text);
  }
  if (!reader.done()) return no_time_at(text);
  if (const auto fault = moment_fault(moment)) return Problem{fmt::format("{}: {}", shown(text), *fault)};
  return moment;
}

std::string moment_text(const Moment& moment) {
  std::string text = fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}", moment.year, moment.month, moment.day,
                                 moment.hour, moment.minute);
  if (moment.second != 0 || moment.decisecond != 0) text += fmt::format(":{:02}", moment.second);
  if (moment.decisecond != 0) text += fmt::format(".{}", moment.decisecond);
  if (!moment.offset) return text + "Z";
  return text +
         fmt::format("{}{:02}:{:02}", moment.offset->direction, moment.offset->hours, moment.offset->minutes);
}

}  // namespace vergeset::smi
