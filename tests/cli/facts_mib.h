#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "schema/facts.h"
#include "smi/oid.h"

namespace vergeset::tests {

enum class Smi { v1, v2 };

/// A MIB module of an object list in tests/facts, made from the list alone. Names of groups and entries are
/// ours; what a cell says in prose is the DESCRIPTION.
class FactsMib {
 public:
  FactsMib(std::vector<schema::Fact> facts, smi::Oid root, Smi smi)
      : facts_(std::move(facts)), root_(std::move(root)), smi_(smi) {
    nodes_[root_] = "larkmoorTestMIB";
  }

  std::string text() {
    std::string objects;
    for (const schema::Fact& fact : facts_) objects += fact.kind == "table" ? table(fact) : object(fact);
    return "LARKMOOR-FACTS-MIB DEFINITIONS ::= BEGIN\n\n" + imports() + node_texts() + objects + "END\n";
  }

 private:
  std::string imports() const {
    if (smi_ == Smi::v2)
      return "IMPORTS\n    OBJECT-TYPE, Integer32, Counter32 FROM SNMPv2-SMI\n"
             "    DisplayString, MacAddress, DateAndTime, RowStatus FROM SNMPv2-TC\n"
             "    Ipv6Address FROM IPV6-TC;\n\n";
    // SMIv1 has assignments of types, and no conventions (RFC 1155, RFC 1212).
    return "IMPORTS\n    OBJECT-TYPE FROM RFC-1212\n    Counter FROM RFC1155-SMI\n"
           "    DisplayString FROM RFC1213-MIB;\n\n"
           "MacAddress ::= OCTET STRING (SIZE (6))\n"
           "DateAndTime ::= OCTET STRING (SIZE (8 | 11))\n"
           "Ipv6Address ::= OCTET STRING (SIZE (16))\n"
           "RowStatus ::= INTEGER { active(1), notInService(2), notReady(3), createAndGo(4),\n"
           "    createAndWait(5), destroy(6) }\n\n";
  }

  /// The nodes above the objects, in the order of their identifiers.
  std::string node_texts() const {
    std::string arcs;
    for (std::size_t at = 1; at < root_.size(); ++at) arcs += fmt::format(" {}", root_.arcs()[at]);
    std::string text = fmt::format("larkmoorTestMIB OBJECT IDENTIFIER ::= {{ iso{} }}\n", arcs);
    for (const auto& [oid, name] : nodes_) {
      if (oid == root_ || named_.count(name) != 0) continue;
      text +=
          fmt::format("{} OBJECT IDENTIFIER ::= {{ {} {} }}\n", name, nodes_.at(oid.parent()), oid.back());
    }
    return text + "\n";
  }

  const std::string& node(const smi::Oid& oid) {
    if (const auto at = nodes_.find(oid); at != nodes_.end()) return at->second;
    node(oid.parent());
    return nodes_[oid] = fmt::format("group{}", nodes_.size());
  }

  void name_node(const smi::Oid& oid, const std::string& name) {
    nodes_[oid] = name;
    named_.insert(name);
  }

  static smi::Oid oid_of(const schema::Fact& fact) { return *smi::Oid::parse(fact.oid); }

  std::string place(const smi::Oid& oid) {
    return fmt::format("    ::= {{ {} {} }}\n\n", node(oid.parent()), oid.back());
  }

  std::string clause(const std::string& access) const {
    if (smi_ == Smi::v2) return fmt::format("    MAX-ACCESS {} STATUS current\n", access);
    return fmt::format("    ACCESS {} STATUS mandatory\n", access == "read-create" ? "read-write" : access);
  }

  std::string table(const schema::Fact& fact) {
    const smi::Oid oid = oid_of(fact);
    const std::string entry = fact.object.substr(0, fact.object.size() - 5) + "Entry";
    std::string type = entry;
    type.front() = static_cast<char>(type.front() - 'a' + 'A');
    const std::string where = place(oid);
    name_node(oid, fact.object);
    name_node(oid.child(1), entry);
    std::string columns;
    std::string index;
    for (const schema::Fact& column : facts_) {
      if (column.kind != "column" || oid_of(column).parent() != oid.child(1)) continue;
      if (index.empty()) index = column.object;
      columns += fmt::format("{}    {} {}", columns.empty() ? "" : ",\n", column.object, type_of(column));
    }
    return fmt::format("{} OBJECT-TYPE\n    SYNTAX SEQUENCE OF {}\n{}    DESCRIPTION \"rows\"\n{}",
                       fact.object, type, clause("not-accessible"), where) +
           fmt::format("{} OBJECT-TYPE\n    SYNTAX {}\n{}    DESCRIPTION \"a row\"\n    INDEX {{ {} }}\n{}",
                       entry, type, clause("not-accessible"), index, place(oid.child(1))) +
           fmt::format("{} ::= SEQUENCE {{\n{} }}\n\n", type, columns);
  }

  /// The cell up to the end of the syntax: what stands behind a comma or a semicolon outside brackets is
  /// prose.
  std::string syntax_of(const schema::Fact& fact) const {
    int depth = 0;
    std::size_t at = 0;
    for (; at < fact.syntax.size(); ++at) {
      const char c = fact.syntax[at];
      if (c == '(' || c == '{') ++depth;
      if (c == ')' || c == '}') --depth;
      if (depth == 0 && (c == ',' || c == ';')) break;
    }
    std::string syntax = fact.syntax.substr(0, at);
    if (smi_ == Smi::v2) return syntax;
    if (syntax.rfind("Integer32", 0) == 0) syntax.replace(0, 9, "INTEGER");
    if (syntax.rfind("Counter32", 0) == 0) syntax.replace(0, 9, "Counter");
    return syntax;
  }

  std::string type_of(const schema::Fact& fact) const {
    const std::string syntax = syntax_of(fact);
    const std::string type = syntax.substr(0, syntax.find_first_of("({"));
    return type.substr(0, type.find_last_not_of(' ') + 1);
  }

  std::string object(const schema::Fact& fact) {
    const smi::Oid oid = oid_of(fact);
    std::string description = fact.syntax + " " + fact.note;
    std::ranges::replace(description, '"', '\'');
    std::string text = fmt::format("{} OBJECT-TYPE\n    SYNTAX {}\n", fact.object, syntax_of(fact));
    if (smi_ == Smi::v2 && !fact.unit.empty()) text += fmt::format("    UNITS \"{}\"\n", fact.unit);
    text += clause(fact.access) + fmt::format("    DESCRIPTION \"{}\"\n", description);
    if (fact.note.rfind("default ", 0) == 0)
      text += fmt::format("    DEFVAL {{ {} }}\n", fact.note.substr(8, fact.note.find(';') - 8));
    return text + place(oid);
  }

  std::vector<schema::Fact> facts_;
  smi::Oid root_;
  Smi smi_;
  std::map<smi::Oid, std::string> nodes_;
  std::set<std::string> named_;
};

}  // namespace vergeset::tests
