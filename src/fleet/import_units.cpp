#include "fleet/import_units.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>
#include <unordered_map>

#include "fleet/credential.h"
#include "fleet/import_known.h"
#include "fleet/names.h"
#include "fleet/site.h"
#include "fleet/unit_entry.h"
#include "smi/suggest.h"
#include "smi/utf8.h"
#include "smi/value.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

using Takes = ImportField::Takes;

bool about_the_site(const ImportField& field) {
  return field.of_site() || field.takes == Takes::position || field.takes == Takes::value;
}

/// Whether a word such as n/a can be nothing but a word for nothing there.
bool may_say_nothing(const ImportField& field) {
  return field.takes != Takes::words && field.takes != Takes::value && field.takes != Takes::unit;
}

/// All white space, line ends too, as single blanks.
std::string single_blanks(std::string_view text) {
  std::string out;
  for (const char c : smi::trimmed(text)) {
    const bool blank = c == ' ' || c == '\n' || c == '\t' || c == '\r';
    if (!blank) out += c;
    if (blank && !out.empty() && out.back() != ' ') out += ' ';
  }
  return out;
}

std::string letters_and_digits(std::string_view text) {
  std::string out;
  for (const char c : smi::lower(text)) {
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) out += c;
  }
  return out;
}

/// "expected a date as in 2026-05-01 for installed, found x" without what is told beside it.
std::string without_found(const std::string& fault, const std::string& text) {
  const std::string tail = ", found " + text;
  return fault.ends_with(tail) ? fault.substr(0, fault.size() - tail.size()) : fault;
}

/// A site field's or a value's text as it goes into the file, held against what the file's reader takes.
Result<std::string> checked_by_reader(const ImportField& field, const std::string& text) {
  Faults faults;
  if (field.takes == Takes::value) {
    if (text.find_first_of("{}") != std::string::npos) return Problem{"a value may not hold { or }"};
    return text;
  }
  Site site;
  add_site_field(site, {field.name.substr(5), {}, text, {}, false}, faults);
  if (!faults.any()) return text;
  return Problem{without_found(faults.sorted().front().text, text)};
}

/// Words that the reader may know in lower case alone ("Outdoor").
Result<std::string> words_of(const ImportField& field, std::string_view cell) {
  const std::string text = single_blanks(cell);
  auto as_written = checked_by_reader(field, text);
  if (as_written) return as_written;
  auto in_lower_case = checked_by_reader(field, smi::lower(text));
  return in_lower_case ? in_lower_case : as_written;
}

/// "54.8999, -20.03" in two; nothing where it does not fall into two.
std::optional<std::pair<std::string, std::string>> two_angles(const std::string& cell) {
  const auto parted = [&](std::size_t at, std::size_t length) {
    return std::pair(cell.substr(0, at), cell.substr(at + length));
  };
  for (const std::string_view mark : {";", "|", ", ", " / ", "/"}) {
    const std::size_t at = cell.find(mark);
    if (at != std::string::npos) return parted(at, mark.size());
  }
  if (std::count(cell.begin(), cell.end(), ',') == 1) return parted(cell.find(','), 1);
  const std::size_t side = cell.find_first_of("NSns");
  if (side != std::string::npos && side > 0 && side + 1 < cell.size()) return parted(side + 1, 0);
  if (std::count(cell.begin(), cell.end(), ' ') == 1) return parted(cell.find(' '), 1);
  return std::nullopt;
}

/// The rows, one after the other, into an Import.
class RowsToUnits {
 public:
  RowsToUnits(const ImportWishes& wishes, const schema::Schema& schema, const Fleet* fleet, Import& import)
      : wishes_(wishes), schema_(schema), fleet_(fleet), import_(import) {}

  /// What the cells of a column settle for those that do not settle it themselves: the decimal mark.
  void look_over(const Spreadsheet& sheet) {
    if (wishes_.mark != DecimalMark::undecided) {
      mark_ = wishes_.mark;
      return;
    }
    bool comma = false;
    bool point = false;
    for (std::size_t i = import_.plan.header + 1; i < sheet.rows.size(); ++i) {
      for (const ImportColumn& column : import_.plan.columns) {
        if (!column.field || column.unit.empty()) continue;
        const DecimalMark told = mark_told_by(sheet.rows[i].at(column.at));
        comma = comma || told == DecimalMark::comma;
        point = point || told == DecimalMark::point;
      }
    }
    if (comma != point) mark_ = comma ? DecimalMark::comma : DecimalMark::point;
  }

  void take(const SheetRow& row) {
    unit_ = ImportedUnit{row.line, {}};
    left_out_ = false;
    const ImportColumn* const named = import_.plan.column_of("unit");
    shown_name_ = named == nullptr ? "" : single_blanks(row.at(named->at));
    for (const ImportColumn& column : import_.plan.columns) {
      if (column.field) take_cell(column, row.at(column.at));
    }
    take_wishes();
    need("unit", "the unit's name");
    need("address", "an address");
    need("model", "a model; --model MODEL is for rows without one");
    if (!left_out_) take_unit();
  }

  void leave_out(int line, const std::string& wrong) {
    import_.misfits.push_back({line, shown_name_, "", "", wrong, true});
    left_out_ = true;
  }
  void name(const std::string& shown) { shown_name_ = shown; }

  void note(const std::string& column, const std::string& text, int line) {
    const auto [found, first] = note_at_.try_emplace({column, text}, import_.notes.size());
    if (first) import_.notes.push_back({column, text, 0, line});
    ++import_.notes[found->second].count;
  }

 private:
  void misfit(const ImportColumn& column, const std::string& found, const std::string& wrong) {
    const bool whole_row = !about_the_site(*column.field);
    import_.misfits.push_back(
        {unit_.line, shown_name_, column.header, single_blanks(found), wrong, whole_row});
    left_out_ = left_out_ || whole_row;
  }

  void ask(const ImportColumn& column, const std::string& found, const std::string& answer) {
    const auto [at, first] = question_at_.try_emplace({column.header, answer}, import_.questions.size());
    if (first) import_.questions.push_back({column.header, single_blanks(found), unit_.line, 0, answer});
    ++import_.questions[at->second].count;
  }

  void take_cell(const ImportColumn& column, const std::string& cell) {
    const ImportField& field = *column.field;
    if (cell.empty()) return;
    if (may_say_nothing(field) && says_nothing(cell)) {
      note(column.header, "a word for nothing (" + single_blanks(cell) + ") is left empty", unit_.line);
      return;
    }
    constexpr std::size_t longest = 2000;
    std::string wrong = spoilt(cell);
    if (cell.size() > longest) wrong = fmt::format("expected at most {} octets", longest);
    if (readable(cell) != cell.size()) wrong = "this cell holds a control character";
    if (!wrong.empty()) return misfit(column, cell.substr(0, 60), wrong);
    convert(column, cell);
  }

  void keep(const ImportColumn& column, const std::string& cell, const Result<std::string>& text) {
    if (!text) return misfit(column, cell, text.problem());
    if (!text->empty()) unit_.fields[column.field->name] = *text;
  }

  void keep_checked(const ImportColumn& column, const std::string& cell, const Result<std::string>& text) {
    keep(column, cell, text ? checked_by_reader(*column.field, *text) : text);
  }

  void convert(const ImportColumn& column, const std::string& cell) {
    switch (column.field->takes) {
      case Takes::unit:
        return take_name(column, cell);
      case Takes::address:
        return take_address(column, cell);
      case Takes::port:
        return keep(column, cell, port_of_cell(cell));
      case Takes::model:
        return take_model(column, cell);
      case Takes::groups:
        return keep(column, cell, groups_of_cell(cell));
      case Takes::credential:
        return keep(column, cell, credential_of_cell(cell));
      case Takes::hex:
        return keep(column, cell, hex_of_cell(*column.field, cell));
      case Takes::position:
        return take_position(column, cell);
      case Takes::latitude:
      case Takes::longitude:
        return keep_checked(column, cell,
                            degrees_of(cell, column.field->takes == Takes::latitude, column.letter));
      case Takes::measure:
        return take_measure(column, cell);
      case Takes::date:
        return take_date(column, cell);
      case Takes::yes_no:
        return keep_checked(column, cell, yes_no_of(cell));
      case Takes::hardware:
        return keep_checked(column, cell, hardware_address_of(cell));
      case Takes::words:
      case Takes::value:
        return keep(column, cell, words_of(*column.field, cell));
    }
  }

  void take_name(const ImportColumn& column, const std::string& cell) {
    const auto name = unit_name_of(cell);
    keep(column, cell, name);
    if (!name) return;
    if (*name != cell) {
      note(column.header, "blanks and marks that a name may not have became dashes", unit_.line);
    }
    shown_name_ = *name;
  }

  void take_address(const ImportColumn& column, const std::string& cell) {
    const auto found = host_port_of(cell);
    if (!found) return misfit(column, cell, found.problem());
    unit_.fields["address"] = found->host;
    // A column of its own for ports has the last word, wherever it stands.
    if (!found->port.empty()) unit_.fields.try_emplace("port", found->port);
    if (!found->without.empty()) {
      note(column.header,
           "what stands around the address (" + single_blanks(found->without) + ") is left out", unit_.line);
    }
  }

  static Result<std::string> port_of_cell(const std::string& cell) {
    const auto port = smi::whole_number(smi::trimmed(cell));
    if (!port || *port < 1 || *port > 65535) return Problem{"expected a port 1 to 65535"};
    return std::to_string(*port);
  }

  void take_model(const ImportColumn& column, const std::string& cell) {
    const std::string model = model_meant(cell, schema_);
    if (!model.empty()) {
      unit_.fields["model"] = model;
    } else if (!wishes_.model.empty()) {
      note(column.header, single_blanks(cell) + " is no model of ours: taken as " + wishes_.model,
           unit_.line);
    } else {
      std::vector<std::string> known;
      for (const auto& [name, kept] : schema_.models) known.push_back(name);
      misfit(column, cell,
             fmt::format("expected {}; --model MODEL takes such rows as one of them", known_models(known)));
    }
  }

  static std::string known_models(const std::vector<std::string>& names) {
    std::string list;
    for (const std::string& name : names) list += (list.empty() ? "" : " or ") + name;
    return list;
  }

  Result<std::string> groups_of_cell(const std::string& cell) const {
    Faults faults;
    const auto levels = split_groups({"groups", {}, cell, {}, false}, faults);
    if (faults.any()) return Problem{"expected groups as in all; signals + corridor-7"};
    std::set<std::string> seen;
    for (const auto& level : levels) {
      for (const Written& group : level) {
        if (!seen.insert(group.text).second) return Problem{"expected each group once"};
        if (fleet_ == nullptr || fleet_->groups.count(group.text) != 0) continue;
        std::vector<std::string> known;
        for (const auto& [name, place] : fleet_->groups) known.push_back(name);
        return Problem{"no group is called " + group.text +
                       hint(group.text, known, "a group is a file groups/NAME.yaml")};
      }
    }
    return single_blanks(cell);
  }

  Result<std::string> credential_of_cell(const std::string& cell) const {
    if (fleet_ == nullptr || fleet_->credentials.count(cell) != 0) return cell;
    return Problem{"expected the name of a credential of fleet.yaml"};
  }

  static Result<std::string> hex_of_cell(const ImportField& field, const std::string& cell) {
    if (field.name == "fingerprint") {
      const auto fingerprint = parse_fingerprint(cell);
      if (!fingerprint)
        return Problem{"expected a fingerprint as in sha256:1f:0a:..., 64 hex digits behind sha256:"};
      return *fingerprint;
    }
    std::string digits = smi::lower(cell);
    if (digits.starts_with("0x")) digits.erase(0, 2);
    std::erase_if(digits, [](char c) { return c == ' ' || c == ':' || c == '-'; });
    const auto octets = smi::from_hex(digits);
    const bool sized = octets && octets->size() >= 5 && octets->size() <= 32;
    if (!sized || octets->find_first_not_of('\0') == std::string::npos ||
        octets->find_first_not_of('\xff') == std::string::npos) {
      return Problem{"expected an engine id, 5 to 32 octets as hex"};
    }
    return digits;
  }

  void take_position(const ImportColumn& column, const std::string& cell) {
    const auto angles = two_angles(single_blanks(cell));
    if (!angles) return misfit(column, cell, "expected latitude and longitude as in 54.8999074, -20.0293837");
    const auto latitude = degrees_of(angles->first, true, 0);
    const auto longitude = degrees_of(angles->second, false, 0);
    if (!latitude) return misfit(column, cell, latitude.problem());
    if (!longitude) return misfit(column, cell, longitude.problem());
    for (const auto& [name, text] :
         {std::pair("site.latitude", *latitude), std::pair("site.longitude", *longitude)}) {
      const auto checked = checked_by_reader(*import_field(name), text);
      if (!checked) return misfit(column, cell, checked.problem());
    }
    unit_.fields["site.latitude"] = *latitude;
    unit_.fields["site.longitude"] = *longitude;
  }

  void take_measure(const ImportColumn& column, const std::string& cell) {
    const auto number = with_point(cell, mark_);
    if (!number) {
      return ask(column, cell, "--decimal comma or --decimal point says what its mark is");
    }
    keep_checked(column, cell, measure_of_cell(*number, column.field->unit, column.unit));
  }

  void take_date(const ImportColumn& column, const std::string& cell) {
    if (const DateOrder told = order_told_by(cell); told != DateOrder::undecided) {
      evidence_.try_emplace(column.header, std::pair(told, fmt::format("line {} has {}", unit_.line, cell)));
    }
    const auto date = date_of(cell, wishes_.dates);
    if (!date) return misfit(column, cell, date.problem());
    if (!*date) return ask(column, cell, "--dates day-first or --dates month-first says which it is");
    keep_checked(column, cell, **date);
  }

  void take_wishes() {
    if (!wishes_.model.empty()) unit_.fields.try_emplace("model", wishes_.model);
    if (!wishes_.groups.empty()) unit_.fields.try_emplace("groups", wishes_.groups);
  }

  void need(const std::string& field, const std::string& what) {
    if (left_out_ || unit_.fields.count(field) != 0) return;
    leave_out(unit_.line, "expected " + what);
  }

  /// A unit that stands alone is new, or one of the fleet's.
  void take_unit() {
    const std::string name = unit_.name();
    if (const auto [seen, first] = names_.try_emplace(name, unit_.line); !first) {
      return leave_out(unit_.line, fmt::format("unit {} stands on line {} already", name, seen->second));
    }
    const std::string address = unit_.fields.at("address") + " " + port();
    if (const auto [seen, first] = addresses_.try_emplace(address, unit_.line); !first) {
      return leave_out(unit_.line, fmt::format("its address {} stands on line {} already",
                                               unit_.fields.at("address"), seen->second));
    }
    const Unit* const known = fleet_ == nullptr ? nullptr : fleet_->unit(name);
    if (known != nullptr) {
      import_.known.push_back(compared(unit_, *known));
      return;
    }
    if (const Unit* const other = at_address()) {
      return leave_out(unit_.line, fmt::format("unit {} of the fleet has its address {}", other->name,
                                               unit_.fields.at("address")));
    }
    import_.units.push_back(std::move(unit_));
  }

  std::string port() const {
    const auto found = unit_.fields.find("port");
    return found == unit_.fields.end() ? "" : found->second;
  }

  /// The fleet's unit that answers at the address of this one.
  const Unit* at_address() {
    if (fleet_ == nullptr) return nullptr;
    if (hosts_.empty()) {
      for (const Unit& unit : fleet_->units) hosts_.emplace(unit.host, &unit);
    }
    const auto [from, to] = hosts_.equal_range(unit_.fields.at("address"));
    const auto found = std::find_if(from, to, [&](const auto& each) {
      return port().empty() || port() == std::to_string(each.second->port);
    });
    return found == to ? nullptr : found->second;
  }

 public:
  /// Adds to each question about dates what another cell of the column settles.
  void tell_evidence() {
    for (ImportQuestion& question : import_.questions) {
      const auto found = evidence_.find(question.column);
      if (found == evidence_.end() || question.answer.find("--dates") == std::string::npos) continue;
      const bool day = found->second.first == DateOrder::day_first;
      question.answer += fmt::format("; {}, which is {} first", found->second.second, day ? "day" : "month");
    }
  }

 private:
  const ImportWishes& wishes_;
  const schema::Schema& schema_;
  const Fleet* fleet_;
  Import& import_;
  DecimalMark mark_ = DecimalMark::undecided;
  ImportedUnit unit_;
  std::string shown_name_;
  bool left_out_ = false;
  std::unordered_map<std::string, int> names_;
  std::unordered_map<std::string, int> addresses_;
  std::unordered_multimap<std::string, const Unit*> hosts_;
  std::map<std::pair<std::string, std::string>, std::size_t> note_at_;
  std::map<std::pair<std::string, std::string>, std::size_t> question_at_;
  std::map<std::string, std::pair<DateOrder, std::string>> evidence_;
};

/// Cells that stand under no header, which nobody would miss otherwise.
bool has_more(const SheetRow& row, const SheetRow& header) {
  for (std::size_t at = 0; at < row.cells.size(); ++at) {
    if (!row.cells[at].empty() && header.at(at).empty()) return true;
  }
  return false;
}

}  // namespace

bool Import::fits() const {
  const bool as_known =
      std::all_of(known.begin(), known.end(), [](const KnownUnit& unit) { return unit.differing.empty(); });
  return misfits.empty() && questions.empty() && as_known;
}

Import import_units(const Spreadsheet& sheet, ImportPlan plan, const ImportWishes& wishes,
                    const schema::Schema& schema, const Fleet* fleet) {
  Import import;
  import.plan = std::move(plan);
  RowsToUnits rows(wishes, schema, fleet, import);
  rows.look_over(sheet);
  const SheetRow& header = sheet.rows[import.plan.header];
  std::map<int, std::string> broken;
  for (const BrokenLine& line : sheet.broken) broken.emplace(line.line, line.text);
  for (std::size_t i = import.plan.header + 1; i < sheet.rows.size(); ++i) {
    const SheetRow& row = sheet.rows[i];
    // A printed sheet repeats its header on each page.
    if (row.cells == header.cells) continue;
    ++import.rows;
    rows.name("");
    if (const auto found = broken.find(row.line); found != broken.end()) {
      rows.leave_out(row.line, found->second);
      continue;
    }
    if (has_more(row, header)) rows.note("", "cells under no header are not used", row.line);
    rows.take(row);
  }
  rows.tell_evidence();
  return import;
}

std::string model_meant(const std::string& word, const schema::Schema& schema) {
  const std::string wanted = letters_and_digits(word);
  // From memory: how people write the two standards for short.
  constexpr std::array<std::pair<std::string_view, std::string_view>, 9> short_forms{
      {{"1218", "ntcip1218-v01"},
       {"ntcip1218", "ntcip1218-v01"},
       {"ntcip1218v1", "ntcip1218-v01"},
       {"ntcip1218v0138", "ntcip1218-v01"},
       {"41", "rsu-4.1"},
       {"v41", "rsu-4.1"},
       {"rsuv41", "rsu-4.1"},
       {"rsuspec41", "rsu-4.1"},
       {"rsuspecification41", "rsu-4.1"}}};
  for (const auto& [name, model] : schema.models) {
    if (!wanted.empty() && (wanted == letters_and_digits(name) || wanted == letters_and_digits(model->title)))
      return name;
  }
  for (const auto& [form, name] : short_forms) {
    if (wanted == form && schema.model(std::string(name)) != nullptr) return std::string(name);
  }
  return "";
}

}  // namespace vergeset::fleet
