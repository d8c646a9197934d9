#include "report/page.h"

#include <fmt/format.h>
#include <openssl/evp.h>
#include <openssl/sha.h>

#include <array>
#include <cmath>
#include <map>

#include "records/clock.h"
#include "records/journal.h"
#include "report/fleet_text.h"
#include "report/history_text.h"
#include "report/markup.h"
#include "report/page_parts.h"
#include "report/standing_words.h"
#include "report/words.h"
#include "smi/inert.h"

namespace vergeset::report {

namespace {

using records::Json;

/// Octets that are no UTF-8 are replaced.
std::string text_of(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

/// Things that many units share, each once: what stands with a unit is its place in the list.
class Shared {
 public:
  std::size_t place_of(const Json& thing) {
    const auto [found, is_new] = places_.try_emplace(text_of(thing), all_.size());
    if (is_new) all_.push_back(thing);
    return found->second;
  }
  Json take() { return std::move(all_); }

 private:
  std::map<std::string, std::size_t> places_;
  Json all_ = Json::array();
};

char letter_of(Stood stood) {
  switch (stood) {
    case Stood::agrees:
      return 'a';
    case Stood::drifted:
      return 'd';
    case Stood::no_answer:
      return 'n';
    case Stood::wrong_unit:
      return 'w';
    case Stood::not_audited:
      break;
  }
  return '-';
}

/// "a85d2": 85 nights in which it agreed, and two in which it had drifted.
std::string runs_of(const std::vector<Stood>& nights) {
  std::string out;
  for (std::size_t i = 0; i < nights.size();) {
    std::size_t end = i;
    while (end < nights.size() && nights[end] == nights[i]) ++end;
    out += letter_of(nights[i]) + std::to_string(end - i);
    i = end;
  }
  return out;
}

Json changed_in(const std::vector<bool>& nights) {
  Json out = Json::array();
  for (std::size_t i = 0; i < nights.size(); ++i) {
    if (nights[i]) out.push_back(i);
  }
  return out;
}

Json difference_json(const records::AuditedDifference& one) {
  constexpr std::size_t most = 400;  // octets of a value; the audit's record has it whole
  const auto cut = [](const std::string& text) {
    const std::string shown = smi::inert(text);
    return shown.size() <= most ? shown
                                : shown.substr(0, 60) + fmt::format("... ({} characters)", shown.size());
  };
  Json items = Json::array();
  for (const records::AuditedItem& item : one.items) {
    const std::string desired = item.desired ? item.desired_words : "no such row";
    items.push_back({smi::inert(item.setting), cut(item.as_found_words), cut(desired)});
  }
  return {smi::inert(one.name), one.kind, std::move(items)};
}

double to_a_metre(double degrees) {
  return std::round(degrees * 1e5) / 1e5;
}

class PageMaker {
 public:
  explicit PageMaker(const Standing& standing) : standing_(standing) {}

  std::string text() {
    Json units = Json::array();
    for (const UnitStanding& unit : standing_.units) units.push_back(unit_json(unit));
    const Json document{
        {"fleet", smi::inert(standing_.fleet->name)},
        {"made", records::stamp(standing_.made)},
        {"nights", {{"first", night_text(standing_.first_night())}, {"count", standing_.nights()}}},
        {"notes", inert_all(notes(standing_))},
        {"models", models_.take()},
        {"groups", groups_.take()},
        {"differences", differences_.take()},
        {"findings", findings_.take()},
        {"changes", changes()},
        {"units", std::move(units)}};
    return text_of(document);
  }

 private:
  Json unit_json(const UnitStanding& one) {
    const fleet::Unit& unit = *one.unit;
    Json groups = Json::array();
    for (const auto& level : unit.groups) {
      for (const std::string& group : level) groups.push_back(groups_.place_of(group));
    }
    Json out{{"n", unit.name},           {"m", models_.place_of(unit.model->title)},
             {"g", std::move(groups)},   {"a", address_of(unit)},
             {"p", place_of(unit)},      {"s", std::string(1, letter_of(one.stands()))},
             {"v", runs_of(one.nights)}, {"c", changed_in(one.changed)},
             {"ch", changes_of(one)},    {"d", Json::array()},
             {"f", Json::array()},       {"k", Json::array()},
             {"e", ends_of(one)}};
    add_position(one, out);
    if (one.now) add_found(*one.now, out);
    return out;
  }

  static std::string address_of(const fleet::Unit& unit) {
    const std::string host = unit.host.find(':') == std::string::npos ? unit.host : "[" + unit.host + "]";
    return fmt::format("{}:{}", host, unit.port);
  }

  static std::string place_of(const fleet::Unit& unit) {
    const auto place = unit.site.fields.find("place");
    return place == unit.site.fields.end() ? std::string() : smi::inert(place->second);
  }

  static void add_position(const UnitStanding& one, Json& out) {
    const fleet::Site& site = one.unit->site;
    if (site.latitude && site.longitude) {
      out["x"] = to_a_metre(*site.longitude);
      out["y"] = to_a_metre(*site.latitude);
    } else if (one.now && one.now->position.latitude && one.now->position.longitude) {
      out["x"] = to_a_metre(*one.now->position.longitude);
      out["y"] = to_a_metre(*one.now->position.latitude);
    }
  }

  void add_found(const records::AuditedUnit& found, Json& out) {
    if (!found.what.empty()) out["w"] = smi::inert(found.what);
    if (!found.taken.empty()) out["t"] = found.taken;
    out["k"] = inert_all(found.obstacles);
    for (const auto& one : found.differences) out["d"].push_back(differences_.place_of(difference_json(one)));
    for (const records::AuditedFinding& one : all_findings(found)) {
      out["f"].push_back(findings_.place_of(
          {severity_of(one), smi::inert(one.rule), smi::inert(one.text), smi::inert(one.source)}));
    }
  }

  Json ends_of(const UnitStanding& unit) const {
    Json out = Json::array();
    for (const Ending& one : endings(*standing_.fleet, unit, standing_.made))
      out.push_back({smi::inert(one.what), records::stamp(one.at), one.or_later, one.soon});
    return out;
  }

  static Json changes_of(const UnitStanding& unit) {
    Json out = Json::array();
    for (const UnitChange& one : unit.changes)
      out.push_back({one.change, one.outcome, one.off_air_ms, smi::inert(one.what)});
    return out;
  }

  Json changes() const {
    Json out = Json::array();
    for (const records::ChangeRecord& change : standing_.changes) {
      std::int64_t sum = 0;
      const records::UnitOutcome* longest = nullptr;
      for (const records::UnitOutcome& unit : change.units) {
        sum += unit.off_air_ms;
        if (longest == nullptr || unit.off_air_ms > longest->off_air_ms) longest = &unit;
      }
      out.push_back({{"number", records::change_name(change.number)},
                     {"begun", change.begun},
                     {"ended", change.ended},
                     {"who", smi::inert(change.who)},
                     {"kind", smi::inert(kind_text(change))},
                     {"why", smi::inert(change.why)},
                     {"off_air_ms", sum},
                     {"longest_ms", longest == nullptr ? 0 : longest->off_air_ms},
                     {"longest", longest == nullptr ? "" : smi::inert(longest->unit)}});
    }
    return out;
  }

  static Json inert_all(const std::vector<std::string>& texts) {
    Json out = Json::array();
    for (const std::string& text : texts) out.push_back(smi::inert(text));
    return out;
  }

  const Standing& standing_;
  Shared models_;
  Shared groups_;
  Shared differences_;
  Shared findings_;
};

/// Inside a script element no text may end it or begin a comment (HTML, 4.12.1.3): '<' is told by its number.
std::string in_script(const std::string& json) {
  std::string out;
  out.reserve(json.size() + json.size() / 64);
  for (const char letter : json) {
    if (letter == '<') {
      out += "\\u003c";
    } else {
      out += letter;
    }
  }
  return out;
}

/// CSP 3, 2.3.1: the base64 of the SHA-256 of what stands in the element.
std::string digest_of(std::string_view text) {
  std::array<unsigned char, SHA256_DIGEST_LENGTH> digest{};
  SHA256(reinterpret_cast<const unsigned char*>(text.data()), text.size(), digest.data());
  std::array<unsigned char, 4 * ((SHA256_DIGEST_LENGTH + 2) / 3) + 1> base64{};
  EVP_EncodeBlock(base64.data(), digest.data(), SHA256_DIGEST_LENGTH);
  return reinterpret_cast<const char*>(base64.data());
}

std::string fact(const std::string& name, const std::string& text) {
  return fmt::format("<div><dt>{}</dt><dd>{}</dd></div>", as_markup(name), as_markup(smi::inert(text)));
}

std::string block_of(const Standing& standing) {
  const std::string audited =
      standing.audit_begun == 0 ? "never" : time_text(records::stamp(standing.audit_begun));
  return fact("units", std::to_string(standing.units.size())) + fact("newest audit", audited) +
         fact("nights",
              fmt::format("{} to {}", night_text(standing.first_night()), night_text(standing.last_night))) +
         fact("this page", time_text(records::stamp(standing.made)));
}

constexpr const char* foot =
    "A night lasts from noon to noon on the clocks of the fleet; its newest audit counts. Time off air is "
    "what units "
    "spent in standby because of our changes. Wrong MAP or SPaT content can mislead drivers: a licensed "
    "engineer's "
    "review decides what is sent.";

/// The parts of page.html by name; what is put in is not looked through again.
std::string filled(std::string_view html, const std::map<std::string, std::string, std::less<>>& parts) {
  std::string out;
  while (!html.empty()) {
    const std::size_t begin = html.find('@');
    const std::size_t end = begin == std::string_view::npos ? begin : html.find('@', begin + 1);
    if (end == std::string_view::npos) break;
    const auto part = parts.find(html.substr(begin + 1, end - begin - 1));
    out += html.substr(0, begin);
    out += part == parts.end() ? std::string(html.substr(begin, end + 1 - begin)) : part->second;
    html.remove_prefix(end + 1);
  }
  return out + std::string(html);
}

}  // namespace

std::string page_json(const Standing& standing) {
  return PageMaker(standing).text();
}

std::string page(const Standing& standing) {
  const std::string name = as_markup(smi::inert(standing.fleet->name));
  return filled(page_html(), {{"TITLE", name + ", " + night_text(standing.last_night)},
                              {"FLEET", name},
                              {"BLOCK", block_of(standing)},
                              {"FOOT", as_markup(foot)},
                              {"STYLE", std::string(page_css())},
                              {"STYLE_DIGEST", digest_of(page_css())},
                              {"SCRIPT", std::string(page_js())},
                              {"SCRIPT_DIGEST", digest_of(page_js())},
                              {"STANDING", in_script(page_json(standing))}});
}

}  // namespace vergeset::report
