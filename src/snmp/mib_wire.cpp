#include "snmp/mib_wire.h"

#include <fmt/format.h>

#include <charconv>
#include <type_traits>

namespace vergeset::snmp {

namespace {

/// More than the largest MIB has of anything, and few enough to be held.
constexpr std::uint64_t most_parts = 1'000'000;

class MibWriter {
 public:
  static constexpr bool reads = false;
  std::string octets;

  void field(const std::string& text) { octets += fmt::format("{}:{}", text.size(), text); }
  void number(const std::int64_t& number) { field(std::to_string(number)); }
  void oid(const smi::Oid& oid) { field(oid.str()); }
  template <class Part>
  std::size_t size_of(const std::vector<Part>& list) {
    number(static_cast<std::int64_t>(list.size()));
    return list.size();
  }
};

class MibReader {
 public:
  static constexpr bool reads = true;
  explicit MibReader(std::string_view octets) : rest_(octets) {}

  bool sound() const { return sound_; }
  bool done() const { return rest_.empty(); }

  void field(std::string& text) {
    std::size_t size = 0;
    const char* const end = rest_.data() + rest_.size();
    const auto [stop, error] = std::from_chars(rest_.data(), end, size);
    if (!sound_ || error != std::errc{} || stop == end || *stop != ':') return spoil();
    rest_.remove_prefix(static_cast<std::size_t>(stop - rest_.data()) + 1);
    if (size > rest_.size()) return spoil();
    text = rest_.substr(0, size);
    rest_.remove_prefix(size);
  }
  void number(std::int64_t& number) {
    std::string text;
    field(text);
    const auto [stop, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    if (error != std::errc{} || stop != text.data() + text.size()) spoil();
  }
  void oid(smi::Oid& oid) {
    std::string text;
    field(text);
    const auto parsed = smi::Oid::parse(text);
    if (parsed) {
      oid = *parsed;
    } else {
      spoil();
    }
  }
  template <class Part>
  std::size_t size_of(std::vector<Part>& list) {
    std::int64_t size = 0;
    number(size);
    // Each part takes two octets at least.
    if (size < 0 || static_cast<std::uint64_t>(size) > most_parts ||
        static_cast<std::uint64_t>(size) > rest_.size())
      spoil();
    if (sound_) list.resize(static_cast<std::size_t>(size));
    return list.size();
  }

 private:
  void spoil() { sound_ = false; }

  std::string_view rest_;
  bool sound_ = true;
};

template <class Way, class Word>
void carry_word(Way& way, Word& word, std::int64_t last) {
  auto number = static_cast<std::int64_t>(word);
  way.number(number);
  if constexpr (Way::reads) {
    if (number < 0 || number > last) number = 0;
    word = static_cast<std::remove_const_t<Word>>(number);
  }
}

template <class Way, class List, class Each>
void carry_all(Way& way, List& list, Each each) {
  const std::size_t size = way.size_of(list);
  for (std::size_t at = 0; at < size; ++at) each(list[at]);
}

template <class Way, class Flag>
void carry_flag(Way& way, Flag& flag) {
  auto number = static_cast<std::int64_t>(flag);
  way.number(number);
  if constexpr (Way::reads) flag = number != 0;
}

template <class Way, class Object>
void carry_object(Way& way, Object& object) {
  way.field(object.name);
  way.field(object.module);
  way.oid(object.oid);
  carry_word(way, object.type, static_cast<std::int64_t>(smi::MibType::other));
  carry_word(way, object.access, static_cast<std::int64_t>(smi::MibAccess::write_only));
  carry_word(way, object.status, static_cast<std::int64_t>(smi::MibStatus::obsolete));
  way.field(object.convention);
  way.field(object.hint);
  way.field(object.units);
  way.field(object.initial);
  way.field(object.description);
  way.field(object.augments);
  carry_all(way, object.index, [&](auto& index) {
    way.field(index.name);
    carry_flag(way, index.implied);
  });
  carry_all(way, object.ranges, [&](auto& range) {
    way.number(range.low);
    way.number(range.high);
  });
  carry_all(way, object.labels, [&](auto& label) {
    way.field(label.name);
    way.number(label.number);
  });
}

template <class Way, class Notification>
void carry_notification(Way& way, Notification& notification) {
  way.field(notification.name);
  way.field(notification.module);
  way.oid(notification.oid);
  way.field(notification.description);
  carry_all(way, notification.brings, [&](auto& brought) { way.oid(brought); });
  carry_all(way, notification.unknown, [&](auto& name) { way.field(name); });
}

template <class Way, class AnyMib>
void carry_mib(Way& way, AnyMib& mib) {
  carry_all(way, mib.modules, [&](auto& name) { way.field(name); });
  carry_all(way, mib.objects, [&](auto& object) { carry_object(way, object); });
  carry_all(way, mib.notifications, [&](auto& one) { carry_notification(way, one); });
  carry_all(way, mib.brought, [&](auto& object) { carry_object(way, object); });
  carry_all(way, mib.faults, [&](auto& fault) {
    way.field(fault.file);
    std::int64_t line = fault.line;
    way.number(line);
    if constexpr (Way::reads) fault.line = static_cast<int>(line);
    way.field(fault.text);
  });
  carry_all(way, mib.notes, [&](auto& note) { way.field(note); });
}

}  // namespace

std::string mib_octets(const smi::Mib& mib) {
  MibWriter writer;
  carry_mib(writer, mib);
  return std::move(writer.octets);
}

Result<smi::Mib> mib_of(std::string_view octets) {
  MibReader reader(octets);
  smi::Mib mib;
  carry_mib(reader, mib);
  if (!reader.sound() || !reader.done()) return Problem{"what the parser left is not whole"};
  return mib;
}

}  // namespace vergeset::snmp
