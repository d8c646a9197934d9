#include "change/walk_file.h"

#include <fmt/format.h>

#include <cctype>
#include <optional>
#include <string_view>

#include "smi/numbers.h"
#include "smi/words.h"

namespace vergeset::change {

namespace {

const smi::Oid snmp_engine_id{1, 3, 6, 1, 6, 3, 10, 2, 1, 1, 0};  // RFC 3411

constexpr const char* how = "take the walk with: snmpwalk -On -m '' ...";

bool starts(std::string_view text, std::string_view with) {
  return text.substr(0, with.size()) == with;
}

/// The object identifier in front of " = ", or nothing: then the line goes on with the value before it.
std::optional<std::string_view> name_of(std::string_view line) {
  const auto equals = line.find(" = ");
  if (equals == std::string_view::npos || equals == 0) return std::nullopt;
  const std::string_view name = line.substr(0, equals);
  return name.find_first_of(" \t\"") == std::string_view::npos ? std::optional(name) : std::nullopt;
}

/// The end of the quoted string that opens at `open`, behind its closing quote; the end of the text
/// where it is never closed.
std::size_t end_of_quoted(std::string_view text, std::size_t open) {
  for (std::size_t i = open + 1; i < text.size(); ++i) {
    if (text[i] == '\\') {
      ++i;
    } else if (text[i] == '"') {
      return i + 1;
    }
  }
  return text.size();
}

/// snmpwalk puts a backslash before a quote and a backslash.
Result<std::string> unquoted(std::string_view text) {
  text = smi::trimmed(text);
  if (text.size() < 2 || text.front() != '"' || text.back() != '"') {
    return Problem{fmt::format("expected text in quotes, found {}; {}", smi::shown(text), how)};
  }
  std::string octets;
  for (std::size_t i = 1; i + 1 < text.size(); ++i) {
    if (text[i] == '\\' && i + 2 < text.size()) ++i;
    octets += text[i];
  }
  return octets;
}

/// "INTEGER: up(1)" and "INTEGER: 15 meters" hold a number as "INTEGER: 15" does.
Result<smi::Value> number(smi::Type type, std::string_view text) {
  std::string_view digits = text;
  const auto open = text.rfind('(');
  if (open != std::string_view::npos && text.back() == ')') {
    digits = text.substr(open + 1, text.size() - open - 2);
  } else if (const auto blank = text.find(' '); blank != std::string_view::npos) {
    digits = text.substr(0, blank);
  }
  return smi::from_exact_text(type, digits);
}

Result<smi::Value> ticks(std::string_view text) {
  const auto close = text.find(')');
  if (text.empty() || text.front() != '(' || close == std::string_view::npos) {
    return Problem{fmt::format("expected (hundredths of a second), found {}", smi::shown(text))};
  }
  return smi::from_exact_text(smi::Type::time_ticks, text.substr(1, close - 1));
}

Result<smi::Value> hex(std::string_view text) {
  return smi::from_exact_text(smi::Type::octet_string, text);
}

/// Two hex digits an octet, then the labels of the bits that are set.
Result<smi::Value> bits(std::string_view text) {
  std::string octets;
  std::size_t at = 0;
  const auto digit = [&](std::size_t i) {
    return i < text.size() && std::isxdigit(static_cast<unsigned char>(text[i]));
  };
  const auto blank = [&](std::size_t i) {
    return i >= text.size() || std::isspace(static_cast<unsigned char>(text[i]));
  };
  while (at < text.size()) {
    if (blank(at)) {
      ++at;
    } else if (digit(at) && digit(at + 1) && blank(at + 2)) {
      octets += text.substr(at, 2);
      at += 2;
    } else {
      break;
    }
  }
  return hex(octets);
}

Result<smi::Value> address(std::string_view text) {
  std::string octets;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t dot = std::min(text.find('.', from), text.size());
    const auto one = smi::whole_number(text.substr(from, dot - from));
    if (!one || *one < 0 || *one > 255) break;
    octets += static_cast<char>(*one);
    from = dot + 1;
  }
  if (octets.size() != 4) return Problem{fmt::format("expected an IPv4 address, found {}", smi::shown(text))};
  return smi::Value{smi::Type::ip_address, 0, octets, {}};
}

Result<smi::Value> network_address(std::string_view text) {
  return smi::from_exact_text(smi::Type::ip_address, text);
}

Result<smi::Value> object_id(std::string_view text) {
  return smi::from_exact_text(smi::Type::object_id, text);
}

Result<smi::Value> quoted(std::string_view text) {
  auto octets = unquoted(text);
  if (!octets) return Problem{octets.problem()};
  return smi::Value::of_octets(*std::move(octets));
}

struct Kind {
  std::string_view prefix;
  Result<smi::Value> (*read)(std::string_view);
};

constexpr Kind kinds[] = {
    {"INTEGER:", [](std::string_view text) { return number(smi::Type::integer, text); }},
    {"STRING:", quoted},
    {"Hex-STRING:", hex},
    {"Counter32:", [](std::string_view text) { return number(smi::Type::counter32, text); }},
    {"Counter64:", [](std::string_view text) { return number(smi::Type::counter64, text); }},
    {"Gauge32:", [](std::string_view text) { return number(smi::Type::gauge32, text); }},
    {"Timeticks:", ticks},
    {"OID:", object_id},
    {"IpAddress:", address},
    {"Network Address:", network_address},
    {"BITS:", bits},
};

Result<smi::Value> value_from(std::string_view text) {
  // Printed where a MIB file says another type: what follows is what came.
  if (starts(text, "Wrong Type")) {
    const auto colon = text.find("): ");
    if (colon != std::string_view::npos) text = text.substr(colon + 3);
  }
  if (text == "\"\"") return smi::Value::of_octets({});
  if (text == "NULL") return smi::Value{};
  if (starts(text, "No Such Object")) return smi::Value::of_number(smi::Type::no_such_object, 0);
  if (starts(text, "No Such Instance")) return smi::Value::of_number(smi::Type::no_such_instance, 0);
  if (starts(text, "No more variables left")) {
    return smi::Value::of_number(smi::Type::end_of_mib_view, 0);
  }
  for (const Kind& kind : kinds) {
    if (starts(text, kind.prefix)) return kind.read(smi::trimmed(text.substr(kind.prefix.size())));
  }
  return Problem{
      fmt::format("expected a type of snmpwalk's as in `INTEGER: 1`, found {}; {}", smi::shown(text), how)};
}

class Walk {
 public:
  Walk(std::string_view text, const std::string& file, Faults& faults)
      : text_(text), file_(file), faults_(faults) {}

  AsFound take() {
    while (at_ < text_.size()) entry();
    const smi::Value& id = found_.at(snmp_engine_id);
    if (!id.absent()) found_.engine_id = id.octets;
    return std::move(found_);
  }

 private:
  std::string_view line_at(std::size_t at) const {
    return text_.substr(at, std::min(text_.find('\n', at), text_.size()) - at);
  }

  void fault(int line, std::string text) { faults_.add({file_, line, 1}, std::move(text)); }

  /// One variable binding, which may run over several lines.
  void entry() {
    const int first_line = line_;
    const std::string_view line = line_at(at_);
    if (smi::trimmed(line).empty()) return go_on(at_ + line.size());
    const auto name = name_of(line);
    if (!name) {
      fault(first_line,
            fmt::format("expected `.1.3.6... = TYPE: value`, found {}; {}", smi::shown(line), how));
      return go_on(at_ + line.size());
    }
    const std::size_t start = at_ + name->size() + 3;
    const std::size_t end = end_of_value(start);
    const std::string_view value = smi::trimmed(text_.substr(start, end - start));
    go_on(end);
    const auto oid = smi::Oid::parse(*name);
    if (!oid) return fault(first_line, fmt::format("{}; {}", oid.problem(), how));
    auto read = value_from(value);
    if (!read) return fault(first_line, read.problem());
    keep(*oid, *std::move(read));
  }

  /// The last line of a walk can name an instance once more only to say that nothing follows it.
  void keep(const smi::Oid& oid, smi::Value value) {
    if (value.type == smi::Type::end_of_mib_view) return;
    if (value.absent() && found_.has(oid)) return;
    found_.instances[oid] = std::move(value);
  }

  /// A quoted string ends with its quote; octets in hex go on for as long as lines hold nothing else.
  std::size_t end_of_value(std::size_t start) const {
    const std::string_view line = line_at(start);
    const auto quote = line.find('"');
    if (quote != std::string_view::npos) {
      const std::size_t close = end_of_quoted(text_, start + quote);
      return close + line_at(close).size();
    }
    std::size_t end = start + line.size();
    const bool hex = starts(line, "Hex-STRING:") || starts(line, "BITS:");
    while (hex && end + 1 < text_.size() && goes_on(line_at(end + 1))) end += 1 + line_at(end + 1).size();
    return end;
  }

  static bool goes_on(std::string_view line) { return !line.empty() && !name_of(line); }

  void go_on(std::size_t end) {
    end = std::min(end + 1, text_.size());
    for (; at_ < end; ++at_) line_ += text_[at_] == '\n' ? 1 : 0;
  }

  std::string_view text_;
  const std::string& file_;
  Faults& faults_;
  std::size_t at_ = 0;
  int line_ = 1;
  AsFound found_;
};

}  // namespace

AsFound read_walk(const std::string& text, const std::string& file, Faults& faults) {
  return Walk(text, file, faults).take();
}

}  // namespace vergeset::change
